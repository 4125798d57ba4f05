"""The chemistries a house battery comes in, and what is fixed by them.

What an analysis knows of each stands with it, in a table that names every chemistry: no default
may speak for one that nobody thought of. tests/domain/test_chemistry.py finds these tables.
"""

from enum import StrEnum

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say


class Chemistry(StrEnum):
    """Cell chemistry; the value is what is stored."""

    LFP = "lfp"
    LITHIUM_ION = "lithium_ion"
    FLOODED = "flooded"
    AGM = "agm"
    GEL = "gel"

    @property
    def label(self) -> str:
        return say(_LABELS[self])

    @property
    def nominal_cell_v(self) -> float:
        """Nominal voltage of one cell (handbook values, common practice)."""
        return _NOMINAL_CELL_V[self]

    @property
    def empty_cell_v(self) -> float:
        """Voltage of one cell under a light load at and below which it counts as empty.

        Lithium iron phosphate 3.0 V: the plateau lies above, the curve falls steeply below (common
        practice; makers' sheets discharge to 2.5 V). Other lithium-ion 3.2 V likewise (common
        practice). Lead-acid 1.75 V: the end voltage of the 20-hour rating (US Army Ordnance
        OS 010, section 14).
        """
        return _EMPTY_CELL_V[self]

    def cells_in_series(self, nominal_v: float) -> int:
        """How many cells in series a nominal voltage means, at least one."""
        return max(1, round(nominal_v / self.nominal_cell_v))

    def empty_v(self, nominal_v: float) -> float:
        """Terminal voltage under load at which the whole battery counts as empty."""
        return self.cells_in_series(nominal_v) * self.empty_cell_v


_LABELS = {
    Chemistry.LFP: N_("lithium iron phosphate"),
    Chemistry.LITHIUM_ION: N_("other lithium-ion"),
    Chemistry.FLOODED: N_("lead-acid, flooded"),
    Chemistry.AGM: N_("lead-acid, AGM"),
    Chemistry.GEL: N_("lead-acid, gel"),
}
_NOMINAL_CELL_V = {
    Chemistry.LFP: 3.2,
    Chemistry.LITHIUM_ION: 3.65,
    Chemistry.FLOODED: 2.0,
    Chemistry.AGM: 2.0,
    Chemistry.GEL: 2.0,
}
_EMPTY_CELL_V = {
    Chemistry.LFP: 3.0,
    Chemistry.LITHIUM_ION: 3.2,
    Chemistry.FLOODED: 1.75,
    Chemistry.AGM: 1.75,
    Chemistry.GEL: 1.75,
}
