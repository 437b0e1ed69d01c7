from units.models.systems import DoorSystem
from units.models.units import Panel, PanelChange, Unit

__all__ = ["DoorSystem", "Panel", "PanelChange", "Unit"]
