"""How cable is pulled and bent, by medium, each rule with its source."""

from backhaul.book.plan import Plan
from backhaul.budgets.cable_runs import cable_runs
from backhaul.design.kinds import COPPER, FEED, KINDS, LIGHT
from backhaul.spreadsheet.cells import Text
from backhaul.spreadsheet.grid import Sheet

_NAMES = {LIGHT: "Fiber", COPPER: "Copper", FEED: "Feeds"}
#: Rules of pulling and bending: medium, what, rule, source. All common practice as quoted in
#: trade guidance; where a maker's data sheet says otherwise it decides.
PRACTICE = (
    (
        LIGHT,
        "Bend radius under tension",
        "20 × outer diameter (inside plant 15 ×)",
        "outside-plant rule of thumb; ANSI/TIA/EIA-568-B.3 as quoted",
    ),
    (LIGHT, "Bend radius installed", "10 × outer diameter", "trade glossary"),
    (
        LIGHT,
        "Bend radius, 2 and 4 strands indoors",
        "50 mm loaded, 25 mm unloaded",
        "ANSI/TIA/EIA-568-B.3 as quoted",
    ),
    (
        LIGHT,
        "Pull, outdoor loose tube",
        "2700 N short term, 890 N long term",
        "600 lbf and 200 lbf in a trade reference",
    ),
    (LIGHT, "Pull, 2 and 4 strands indoors", "222 N at most", "TIA/EIA-568-B.1 as quoted"),
    (LIGHT, "Loop at a closure", "5 to 10 m each side", "from memory"),
    (LIGHT, "Slack in a handhole or at a pole", "10 to 30 m", "from memory"),
    (LIGHT, "Slack at a rack", "3 m", "from memory"),
    (COPPER, "Pull, four pairs", "110 N at most", "TIA/EIA-568-B.1 as quoted: 25 lbf"),
    (
        COPPER,
        "Bend radius, four pairs unscreened, no load",
        "4 × outer diameter",
        "wiring guidelines; a screened cable needs more",
    ),
    (FEED, "Bend radius and pull", "by the maker's data sheet", "local codes decide"),
)


def write_practice(plan: Plan, sheet: Sheet) -> None:
    """The rules of the media of a design, on Basis: a row a medium."""
    media = {KINDS[run.row.kind].medium for run in cable_runs(plan.evaluation)}
    if not media:
        return
    sheet.heading("Pulling and bending: common practice; the maker's data sheet stands before it")
    for medium, name in _NAMES.items():
        rules = [rule for rule in PRACTICE if rule[0] == medium]
        if medium not in media:
            continue
        said = "; ".join(f"{what[:1].lower()}{what[1:]}: {rule}" for _, what, rule, _ in rules)
        sources = "; ".join(dict.fromkeys(source for *_, source in rules))
        sheet.row(
            name,
            Text(said, span=3),
            Text(sources, "text small", sheet.width - 4),
        )
