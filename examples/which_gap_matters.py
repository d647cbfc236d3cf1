"""Which gap matters? Each gap is doubled by itself; the one that costs most kelvin is sealed first."""

from shared import project_named

from heatproof import Project, check, variant


def main(project: Project, times: float = 2.0) -> list[tuple[str, float, str]]:
    """(gap, K lost, by which part), worst first."""
    base = variant(project)
    before = {(r.part, r.duty): r.margin for r in check(project, base, spreads=False).rows}
    found = []
    for name, passage in base.air.passages.items():
        if passage.kind != "gap" or passage.area is None:
            continue
        wider = base.replace(f"air.passages.{name}.area", times * passage.area)
        rows = check(project, wider, spreads=False).rows
        row = max(rows, key=lambda r: before[r.part, r.duty] - r.margin)
        found.append((name, before[row.part, row.duty] - row.margin, row.title))
    found.sort(key=lambda one: -one[1])
    for name, lost, title in found:
        print(f"{name}: {lost:.1f} K, {title}")
    return found


if __name__ == "__main__":
    main(project_named())
