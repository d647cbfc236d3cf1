"""What the duty and the engine tell the network at every instant: one vector, these places."""

from typing import Final

ONE: Final = 0  # 1, for constant sources
ENGINE_ON: Final = 1  # 1 while the engine runs
ENGINE_SPEED: Final = 2  # rev/s
VEHICLE_SPEED: Final = 3  # m/s
AIR_CONDITIONING: Final = 4  # 1 while its compressor runs
SUN: Final = 5  # W/m2
BRAKE_POWER: Final = 6  # W
AIR: Final = 7  # kg/s into the engine
FUEL: Final = 8  # kg/s
EXHAUST: Final = 9  # kg/s
MIXTURE: Final = 10  # relative air/fuel ratio
EXHAUST_CP: Final = 11  # J/kg/K, mean from ambient to exhaust-port temperature
EXHAUST_TEMPERATURE: Final = 12  # K at the ports
EXHAUST_HEAT: Final = 13  # W above ambient, carried by the gas at the ports
WALL_HEAT: Final = 14  # W, combustion gas to cylinder walls
FRICTION_HEAT: Final = 15  # W
COMPRESSION_HEAT: Final = 16  # W into the charge air
TURBINE_WORK: Final = 17  # W out of the exhaust gas
BEARING_HEAT: Final = 18  # W, turbo bearing friction
MANIFOLD_PRESSURE: Final = 19  # Pa absolute
PRESSURE_RATIO: Final = 20  # compressor
EXPANSION_RATIO: Final = 21  # turbine
WASTEGATE_SHARE: Final = 22  # of the exhaust flow
MAP_FLAG: Final = 23  # 1 where the compressor works outside its map
BOOST_SHORT: Final = 24  # Pa that the turbine could not deliver of the boost asked for
DEMAND_SHORT: Final = 25  # W asked for and not delivered
CHEMICAL_LOSS: Final = 26  # W of fuel left unburned
CORRECTED_FLOW: Final = 27  # kg/s at the map's reference state
TURBO_SPEED: Final = 28  # rev/s, from the map; 0 without one
FUEL_HEAT: Final = 29  # W
FIRST_FAN: Final = 30  # speed ratio of fan or electric pump 0, 1, ...
MAX_FANS: Final = 8
SYSTEM_PRESSURE: Final = (
    FIRST_FAN + MAX_FANS
)  # Pa over ambient in expansion tank 0, 1, ...; 0: engine coolant
MAX_TANKS: Final = 4
HELD_BY_EXHAUST: Final = (
    SYSTEM_PRESSURE + MAX_TANKS
)  # 1 where back pressure alone keeps the engine from more power
COUNT: Final = HELD_BY_EXHAUST + 1
