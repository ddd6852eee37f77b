"""What is known of roughing with a flat cutter before finishing begins."""

from __future__ import annotations

from dataclasses import dataclass

from ..core.errors import BadRequest
from ..core.message import setting_name


@dataclass(frozen=True)
class RoughingSettings:
    """What is known of roughing with a flat cutter; lengths in mm.

    allowance: left on the body, along the normal. step_down: height of the terraces, None where there are none. cutter_diameter: of the
    flat cutter. slot_width: between body and stock that still stands, None for the flat cutter's diameter.
    """

    allowance: float = 0.5
    step_down: float | None = None
    cutter_diameter: float = 22.0
    slot_width: float | None = None

    def __post_init__(self) -> None:
        if not self.allowance >= 0:
            raise BadRequest("The allowance that roughing leaves must be 0 mm or more, not {value}.", value=self.allowance)
        for name in ("step_down", "cutter_diameter", "slot_width"):
            value = getattr(self, name)
            if value is not None and not value > 0:
                raise BadRequest("Roughing: {setting} must be above 0 mm, not {value}.", setting=setting_name(name), value=value)

    @property
    def slot(self) -> float:
        """Width in mm of the slot beside the body."""
        return self.slot_width if self.slot_width is not None else self.cutter_diameter
