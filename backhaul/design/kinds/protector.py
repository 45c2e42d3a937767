from backhaul.design.kinds.kind import Kind

PROTECTOR = Kind(
    name="protector",
    title="Surge protector in line, beside the run that it protects",
    families=("protectors",),
    columns=("site",),
    protects=True,
)
