from units.models.parts import Part, PartArrival
from units.models.systems import DoorSystem
from units.models.units import Panel, PanelChange, Unit

__all__ = ["DoorSystem", "Panel", "PanelChange", "Part", "PartArrival", "Unit"]
