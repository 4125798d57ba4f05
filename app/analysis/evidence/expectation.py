"""What the label lets one expect of a discharge."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Expectation:
    """Run time and remaining charge that the rated capacity promises at a steady current.

    The reserve is a share of what a battery holds: here, where it holds its label, of the label.
    """

    rated_ah: float
    reserve_share: float
    mean_current_a: float

    @property
    def usable_ah(self) -> float:
        return self.rated_ah * (1 - self.reserve_share)

    @property
    def run_time_h(self) -> float:
        """Hours until only the reserve is left."""
        return self.usable_ah / self.mean_current_a

    @property
    def run_time_to_empty_h(self) -> float:
        return self.rated_ah / self.mean_current_a

    def remaining_ah(self, hours: float) -> float:
        return self.rated_ah - self.mean_current_a * hours
