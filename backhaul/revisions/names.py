"""Sites and paths that bear another name in the other revision."""

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping

from backhaul.design.model import Design, Site
from backhaul.path.network import rows_by_path

#: Decimals of a degree at which two coordinates are one place: 0.1 m.
_DEGREE_DECIMALS = 6
#: Share of alike rows from which on a path is another path under a new name.
_ALIKE = 0.6
#: Rows that so many paths have tell nothing about one of them.
_COMMON = 40


def same_sites(old: Design, new: Design) -> dict[str, str]:
    """Name of every site in the old revision -> in the new one; by name, else by its place.

    A site is renamed where one of another name stands at its coordinates, or, without coordinates,
    where all else that is known of both is alike and of no other.
    """
    pairs = {name: name for name in old.sites if name in new.sites}
    left = [site for name, site in old.sites.items() if name not in new.sites]
    free = [site for name, site in new.sites.items() if name not in old.sites]
    for tell in (_place, _all_else):
        pairs |= _alone_alike(left, free, tell)
        left = [site for site in left if site.site not in pairs]
        free = [site for site in free if site.site not in pairs.values()]
    return pairs


def _place(site: Site) -> Hashable:
    if site.latitude is None or site.longitude is None:
        return None
    return round(site.latitude, _DEGREE_DECIMALS), round(site.longitude, _DEGREE_DECIMALS)


def _all_else(site: Site) -> Hashable:
    known = site[1 : len(site) - 2]
    return known if any(value is not None for value in known) else None


def _alone_alike(
    left: Iterable[Site], free: Iterable[Site], tell: Callable[[Site], Hashable]
) -> dict[str, str]:
    by_old: dict[Hashable, list[str]] = defaultdict(list)
    by_new: dict[Hashable, list[str]] = defaultdict(list)
    for sites, found in ((left, by_old), (free, by_new)):
        for site in sites:
            found[tell(site)].append(site.site)
    return {
        names[0]: by_new[mark][0]
        for mark, names in by_old.items()
        if mark is not None and len(names) == len(by_new.get(mark, ())) == 1
    }


def same_paths(old: Design, new: Design, sites: Mapping[str, str]) -> dict[str, str]:
    """Name of every path in the old revision -> in the new one: by name, else by its rows."""
    before, after = rows_by_path(old), rows_by_path(new)
    pairs = {name: name for name in before if name in after}
    signs_old = _signatures(before, pairs, sites)
    signs_new = _signatures(after, pairs.values(), {})
    pairs |= _most_alike(signs_old, signs_new)
    return dict(sorted(pairs.items(), key=sorted))


def _signatures(paths, but: Iterable[str], sites: Mapping[str, str]) -> dict[str, Counter]:
    """What stands in each path that has no namesake, whatever its order and its figures."""
    named = set(but)
    return {
        name: Counter(
            (
                row.kind,
                row.part,
                row.label,
                frozenset((sites.get(row.site, row.site), sites.get(row.to_site, row.to_site))),
            )
            for row in rows
        )
        for name, rows in paths.items()
        if name not in named
    }


def _most_alike(old: Mapping[str, Counter], new: Mapping[str, Counter]) -> dict[str, str]:
    """Pairs that share most of their rows, the most alike first."""
    having = defaultdict(list)
    for name, signs in new.items():
        for sign in signs:
            having[sign].append(name)
    scores: list[tuple[float, str, str, str, str]] = []
    for name, signs in old.items():
        near = {
            other
            for sign in signs
            for other in having.get(sign, ())
            if len(having[sign]) <= _COMMON
        }
        for other in near:
            common = sum((signs & new[other]).values())
            share = common / max(sum(signs.values()), sum(new[other].values()))
            if share >= _ALIKE:
                first, second = sorted((name, other))
                scores.append((-share, first, second, name, other))
    pairs: dict[str, str] = {}
    for *_, name, other in sorted(scores):
        if name not in pairs and other not in pairs.values():
            pairs[name] = other
    return pairs
