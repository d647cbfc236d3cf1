"""How far a value may be off that somebody wrote down without saying so: one class a kind of figure.

Each is the half width that holds about 95 % of cases (two standard deviations), written as in a file: `20 %` of the value, or
in the value's unit. A value whose own spread is in the file never falls back on these. `EXACT` is said, not silent: counted
pieces, gear ratios, set points that define a rated point, what a duty asks for, limits.
"""

from heatproof.units.quantity import Doubt

NO_SOURCE = "common practice, no source"

EXACT = Doubt("", "exact: counted, defined or asked for")
PLACED = Doubt("", "held in draws: doubt of shapes and places counts with the laws, as view factors")
IN_FACTOR = Doubt("", "held: the doubt of its curve stands in the factor")

# Geometry
CORE_SIZE = Doubt("3 %", "fins measured with a tape; " + NO_SOURCE)
BORE = Doubt("6 %", "inner diameter from the outer and a wall; " + NO_SOURCE)
LENGTH = Doubt("10 %", "a centre line measured with a tape; " + NO_SOURCE)
LINE_LENGTH = Doubt("20 %", "a hose run estimated, not measured; " + NO_SOURCE)
LEVEL = Doubt("0.08 m", "a height above the road taken in the bay; " + NO_SOURCE)
NEAR = Doubt("10 mm", "a distance between parts, two placed to 5 mm each; " + NO_SOURCE)
AREA = Doubt("20 %", "an area taken from a few lengths; " + NO_SOURCE)
ROUGH_AREA = Doubt("40 %", "an area the air has among parts; " + NO_SOURCE)
INNER_AREA = Doubt("40 %", "an inner surface taken from a class of engines; " + NO_SOURCE)
VOLUME = Doubt("40 %", "share of a known total; " + NO_SOURCE)
ROUGH_VOLUME = Doubt("50 %", "air among parts; " + NO_SOURCE)
WALL = Doubt("20 %", "thickness of a wall or layer; " + NO_SOURCE)
GAP = Doubt("40 %", "a gap as fitted by hand; " + NO_SOURCE)
FIN = Doubt("10 %", "fins counted over a short length; " + NO_SOURCE)
FIN_SHEET = Doubt("20 %", "a sheet nobody measures; " + NO_SOURCE)
LOUVER = Doubt("14 %", "louvers of brazed car cores, 25 to 30 degrees; class of cores, from memory")
MASS = Doubt("16 %", "a part not weighed; " + NO_SOURCE)
COVERAGE = Doubt("10 points", "a covered share judged by eye; " + NO_SOURCE)

# Flow
LOSS = Doubt("40 %", "pressure loss coefficients from handbook shapes; " + NO_SOURCE)
RATED_LOSS = Doubt("20 %", "a loss read off a supplier's sheet; " + NO_SOURCE)
FILTER_LOSS = Doubt("50 %", "a used filter; " + NO_SOURCE)
BODY_PRESSURE = Doubt("0.12", "pressure coefficients of car bodies by place; " + NO_SOURCE)
FAN_FLOW = Doubt("30 %", "a fan known by its diameter and fuse; " + NO_SOURCE)
FAN_PRESSURE = Doubt("40 %", "a fan known by its diameter and fuse; " + NO_SOURCE)
PUMP = Doubt("30 %", "a car's water pump known by its engine; " + NO_SOURCE)
OIL_PUMP = Doubt("20 %", "a gear pump known by its engine; " + NO_SOURCE)
RELIEF = Doubt("10 %", "a spring's setting; " + NO_SOURCE)
LEAK = Doubt("50 % of value", "a shut valve's leak; " + NO_SOURCE)

# Heat
CONDUCTANCE = Doubt("40 %", "heat paths between parts estimated from their section; " + NO_SOURCE)
CONTACT = Doubt(
    "60 %",
    "pressed metal joints scatter by half and more; handbook ranges of contact conductance, from memory",
)
LOST_TO_CABIN = Doubt("60 %", "through lining to the cabin; " + NO_SOURCE)
CONDUCTIVITY = Doubt("10 %", "an alloy known by its family; handbook range, from memory")
LAYER_CONDUCTIVITY = Doubt("40 %", "fibre layers as fitted, against their sheet; " + NO_SOURCE)
EMISSIVITY = Doubt("0.1", "surfaces in service; handbook ranges of oxidised and painted metal, from memory")
ABSORPTANCE = Doubt("0.2", "paint colours; handbook range, from memory")
PART_SIZE = Doubt("20 %", "the one length that stands for a part's shape in convection; " + NO_SOURCE)
MADE_HEAT = Doubt("40 %", "losses inside electrical parts; " + NO_SOURCE)
HEAT_CAPACITY = Doubt("16 %", "a part not weighed; " + NO_SOURCE)
RATED_HEAT = Doubt("16 %", "exchangers against their sheets; " + NO_SOURCE)
EXPONENT = Doubt("0.1", "powers of the flows in a core's conductance and loss; " + NO_SOURCE)
RESISTANCE_SHARE = Doubt("20 points", "which side of a core resists; " + NO_SOURCE)
GAS_SIDE = Doubt("25 %", "pulsating gas against straight-pipe correlations; " + NO_SOURCE)
VOLUTE = Doubt("30 %", "gas side of turbine housings; " + NO_SOURCE)
CONDENSER_HEAT = Doubt("30 %", "heat of the air conditioning by size of the cabin; " + NO_SOURCE)

# Engine, car, settings
FILLING = Doubt("8 %", "filling worked out from rated power; " + NO_SOURCE)
FUEL = Doubt("2 %", "pump fuel from one filling to the next; handbook range, from memory")
MIXTURE = Doubt("0.03", "a closed-loop mixture at part load and full load as calibrated; " + NO_SOURCE)
THRESHOLD = Doubt("20 points", "where a calibration begins to enrich; " + NO_SOURCE)
EFFICIENCY = Doubt("2 points", "handbook range, from memory")
TURBO_EFFICIENCY = Doubt("5 points", "a turbocharger known by its size and not by its map; " + NO_SOURCE)
MECHANICAL = Doubt("3 points", "bearing losses; " + NO_SOURCE)
DRIVELINE = Doubt("4 points", "gearbox and final drive; " + NO_SOURCE)
FRICTION = Doubt("20 %", "motored friction of engines of one age; from memory")
CYLINDER_HEAT = Doubt("16 %", "cylinder heat correlations against engines, from memory")
GAS_TEMPERATURE = Doubt("40 K", "from memory")
HEAD_SHARE = Doubt("14 points", "heat that enters through the head, engines of one age; from memory")
FRICTION_SHARE = Doubt("24 points", "share of friction that heats oil; from memory")
PISTON_SHARE = Doubt("4 points", "heat through pistons to oil; from memory")
ACCESSORIES = Doubt("60 %", "alternator, steering and pump loads; " + NO_SOURCE)
RATED_POWER = Doubt(
    "5 %", "power of a production engine against its sheet, which standards allow; from memory"
)
BOOST = Doubt("5 %", "boost control; " + NO_SOURCE)
SPEED_SETTING = Doubt("10 %", "idle and boost thresholds of a calibration; " + NO_SOURCE)
SWALLOWING = Doubt("24 %", "a turbine known by its wheel's diameter; " + NO_SOURCE)
INERTIA = Doubt("40 %", "a rotor known by its wheel's diameter; " + NO_SOURCE)
CAR_MASS = Doubt("4 %", "empty mass of the sheet and a driver; " + NO_SOURCE)
DRAG = Doubt("14 %", "drag area from size and a class of bodies; " + NO_SOURCE)
ROLLING = Doubt("30 %", "tyres and road; handbook range, from memory")
WHEEL = Doubt("3 %", "rolling radius from the tyre's size; " + NO_SOURCE)
GRIP = Doubt("16 %", "tyre and road; " + NO_SOURCE)
SWITCH_POINT = Doubt("4 K", "thermostats and switches of one marking; " + NO_SOURCE)
HYSTERESIS = Doubt("2 K", "switches of one marking; " + NO_SOURCE)
LAG = Doubt("50 %", "lag of a wax element by flow and build; " + NO_SOURCE)
ELECTRIC_POWER = Doubt("20 %", "power by the label or the fuse; " + NO_SOURCE)
SPEED_SHARE = Doubt("10 points", "low speed of a two-speed fan; " + NO_SOURCE)
CONDENSER_SWITCH = Doubt("4 K", "pressure switches of one marking; " + NO_SOURCE)
GLYCOL = Doubt("5 points", "as mixed in a workshop; " + NO_SOURCE)
CAP = Doubt("10 %", "caps of one marking; " + NO_SOURCE)
CORE_SHARE = Doubt("10 points", "which part of a core's face a passage serves; " + NO_SOURCE)
