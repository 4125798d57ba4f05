"""Amounts of charge in a sentence."""

from app.domain.i18n.message import say

_WHOLE_FROM_AH = 1000.0


def charge_said(charge_ah: float) -> str:
    """Amp-hours with four digits, whole ones where there are more of them."""
    if charge_ah >= _WHOLE_FROM_AH:
        return say("{charge_ah:.0f} Ah", charge_ah=charge_ah)
    return say("{charge_ah:.4g} Ah", charge_ah=charge_ah)
