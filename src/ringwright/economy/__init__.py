"""What a setting costs: energy by part, end breaks, piecing, the cost of a kilogram and the speed that pays best."""

from ringwright.economy.cost import Cost, Ground, cost_per_kg, ground
from ringwright.economy.energy import Energy, energy_by_part
from ringwright.economy.speed import EconomicSpeed, economic_speed

__all__ = ["Cost", "EconomicSpeed", "Energy", "Ground", "cost_per_kg", "economic_speed", "energy_by_part", "ground"]
