"""What can be wrong with a value's text."""

from heatproof.units.amount import Amount


class UnitError(ValueError):
    """A value that cannot be read: what is wrong, what was got, what is allowed, nearest, next step.

    amounts: what `allowed` holds in the declared unit.
    """

    def __init__(
        self,
        what: str,
        *,
        got: str = "",
        allowed: str = "",
        nearest: str = "",
        next_step: str = "",
        amounts: tuple[Amount, ...] = (),
    ):
        super().__init__(what)
        self.what, self.got, self.allowed = what, got, allowed
        self.nearest, self.next_step, self.amounts = nearest, next_step, amounts

    def __str__(self) -> str:
        parts = [self.what]
        parts += [f"got {self.got!r}"] * bool(self.got) + [f"allowed: {self.allowed}"] * bool(self.allowed)
        parts += [f"nearest: {self.nearest}"] * bool(self.nearest) + [self.next_step] * bool(self.next_step)
        return "; ".join(parts)
