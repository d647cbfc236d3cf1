"""Structural checks on a variant: one list of rules, each in its own small function."""

from collections.abc import Callable

from heatproof.kit.checks.air import check_air
from heatproof.kit.checks.engine import check_engine
from heatproof.kit.checks.liquids import check_coolant, check_oil
from heatproof.kit.checks.parts import check_parts, check_shapes
from heatproof.kit.checks.plausible import check_plausible
from heatproof.kit.checks.references import check_references
from heatproof.kit.findings import Findings
from heatproof.kit.records.variant import Variant

RULES: tuple[Callable[[Variant, Findings], None], ...] = (
    check_references,
    check_engine,
    check_air,
    check_coolant,
    check_oil,
    check_parts,
    check_shapes,
    check_plausible,
)


def check_variant(variant: Variant) -> Findings:
    """Everything that does not fit together. Rules that walk networks run only where every name is known."""
    findings = Findings()
    for rule in RULES:
        rule(variant, findings)
        if rule is check_references and findings.errors:
            break
    return findings
