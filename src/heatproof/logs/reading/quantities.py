"""The quantities a log may hold: one row each with dimension, default unit and physical limits.

Limits are what a sensor on a car can meaningfully report (wider than any good value), in the default unit:
common practice, no source. They only reject nonsense; plausibility by state comes later.
"""

from dataclasses import dataclass

from heatproof.logs.reading.log_units import LogUnit, unit_named


@dataclass(frozen=True)
class Quantity:
    """`words`: alternatives for recognising a column name, each a set of words that must all occur."""

    key: str
    label: str
    dimension: str
    default_unit: str
    low: float
    high: float
    words: tuple[str, ...]
    steps: bool = False
    """True where sudden steps are real (speed, pedal), so no spike filter."""

    @property
    def unit(self) -> LogUnit:
        """The default unit."""
        return unit_named(self.default_unit)

    @property
    def limits_si(self) -> tuple[float, float]:
        """Physical limits in SI."""
        unit = self.unit
        return unit.factor * (self.low + unit.offset), unit.factor * (self.high + unit.offset)


def _row(
    key: str, label: str, dimension: str, unit: str, low: float, high: float, words: str, steps: bool = False
) -> Quantity:
    return Quantity(key, label, dimension, unit, low, high, tuple(w.strip() for w in words.split("|")), steps)


TABLE = (
    _row("time", "time", "time", "s", 0, 1e12,
         "time|timestamp|elapsed|clock|seconds|zeit|device time|log time|time stamp|t"),
    _row("date", "date", "time", "s", 0, 1e12, "date|datum|day"),
    _row("run_time", "time since engine start", "time", "s", 0, 1e6, "run time|engine run time|runtime"),
    _row("coolant_temperature", "coolant temperature", "temperature", "degC", -45, 160,
         "coolant temp|ect|clt|water temp|engine temp|engine coolant|coolant|engine water temp"
         "|engine coolant temp|t coolant|t water"),
    _row("radiator_in_temperature", "coolant temperature at radiator inlet", "temperature", "degC", -45, 160,
         "radiator in temp|radiator in|rad in|t rad in|engine out coolant temp|engine out temp|rad in temp"),
    _row("radiator_out_temperature", "coolant temperature at radiator outlet", "temperature",
         "degC", -45, 160,
         "radiator out temp|radiator out|rad out|t rad out|rad out temp|engine in coolant temp"),
    _row("oil_temperature", "engine oil temperature", "temperature", "degC", -45, 220,
         "oil temp|engine oil temp|t oil|eot|oil sump temp|oil"),
    _row("oil_cooler_in_temperature", "oil temperature at cooler inlet", "temperature", "degC", -45, 220,
         "oil cooler in|oil cooler in temp"),
    _row("oil_cooler_out_temperature", "oil temperature at cooler outlet", "temperature", "degC", -45, 220,
         "oil cooler out|oil cooler out temp"),
    _row("transmission_temperature", "gearbox oil temperature", "temperature", "degC", -45, 220,
         "gearbox temp|transmission temp|trans temp|gearbox oil temp|transmission oil temp|trans oil temp"),
    _row("intake_temperature", "intake air temperature", "temperature", "degC", -45, 150,
         "intake air temp|iat|intake temp|manifold temp|inlet air temp|intake manifold temp|air intake temp"
         "|manifold air temp|mat|act|t intake|inlet temp"),
    _row("compressor_in_temperature", "air temperature at compressor inlet", "temperature", "degC", -45, 150,
         "compressor in temp|compressor in|turbo in temp|airbox temp|filter temp|t1|air filter temp"),
    _row("charge_in_temperature", "charge temperature at cooler inlet", "temperature", "degC", -45, 350,
         "charge cooler in|charge cooler in temp|intercooler in temp|intercooler in|compressor out temp"
         "|compressor out|turbo out temp|charge temp pre cooler|t2|charge air in temp|cac in temp|cac in"
         "|pre intercooler temp|pre cooler temp"),
    _row("charge_out_temperature", "charge temperature at cooler outlet", "temperature", "degC", -45, 250,
         "charge cooler out|charge cooler out temp|intercooler out temp|intercooler out|charge temp"
         "|charge air temp|boost temp|charge air out temp|cac out temp|cac out|post intercooler temp"
         "|post cooler temp|charge temp post cooler"),
    _row("ambient_temperature", "ambient temperature", "temperature", "degC", -60, 70,
         "ambient temp|ambient air temp|aat|ambient|outside temp|outside air temp|outdoor temp|exterior temp|oat"
         "|t amb|air temp outside"),
    _row("bay_air_temperature", "air temperature under the bonnet", "temperature", "degC", -45, 300,
         "bay temp|underhood temp|under bonnet temp|engine bay temp|bay air temp|under hood temp|engine bay"),
    _row("exhaust_temperature", "exhaust gas temperature", "temperature", "degC", -45, 1250,
         "exhaust temp|egt|exhaust gas temp|turbine in temp|exhaust|t3|pre turbine temp|turbine in"),
    _row("catalyst_temperature", "catalyst temperature", "temperature", "degC", -45, 1250,
         "catalyst temp|cat temp|catalytic converter temp|catalyst"),
    _row("surface_temperature", "surface temperature", "temperature", "degC", -60, 1250,
         "surface temp|skin temp|wall temp|housing temp|shield temp|brake line temp|thermocouple|tc"),
    _row("manifold_pressure", "manifold pressure, absolute", "pressure", "kPa", 5, 600,
         "manifold pressure|map|manifold absolute pressure|intake manifold pressure|inlet manifold pressure"
         "|intake manifold absolute pressure|manifold abs pressure|intake pressure|p intake|charge pressure"),
    _row("boost_pressure", "boost pressure, gauge", "pressure", "kPa", -105, 500,
         "boost|boost pressure|boost gauge|turbo boost|turbo pressure|manifold gauge pressure"),
    _row("ambient_pressure", "ambient pressure", "pressure", "kPa", 40, 115,
         "barometric pressure|baro|ambient pressure|atmospheric pressure|barometer|p amb|baro pressure"),
    _row("oil_pressure", "oil pressure, gauge", "pressure", "kPa", -20, 1500,
         "oil pressure|p oil|engine oil pressure|oil"),
    _row("fuel_pressure", "fuel pressure", "pressure", "kPa", -20, 40000,
         "fuel pressure|fuel rail pressure|rail pressure"),
    _row("coolant_pressure", "coolant pressure, gauge", "pressure", "kPa", -100, 600,
         "coolant pressure|water pressure|p coolant"),
    _row("exhaust_pressure", "exhaust back pressure", "pressure", "kPa", -50, 1000,
         "exhaust pressure|back pressure|backpressure|exhaust back pressure|turbine in pressure"),
    _row("engine_speed", "engine speed", "rotation", "rpm", 0, 12000,
         "engine rpm|rpm|engine speed|engine revs|revs|n engine|motor rpm|drehzahl|n mot|nmot", True),
    _row("turbo_speed", "turbo speed", "rotation", "rpm", 0, 350000,
         "turbo speed|turbo rpm|turbocharger rpm|turbocharger speed"),
    _row("vehicle_speed", "vehicle speed", "speed", "km/h", -1, 400,
         "vehicle speed|speed|vss|car speed|road speed|wheel speed|ground speed|vehicle speed sensor"
         "|velocity", True),
    _row("gps_speed", "speed by satellite", "speed", "km/h", -1, 400,
         "gps speed|speed gps|gps velocity", True),
    _row("air_flow", "air mass flow", "mass flow", "g/s", 0, 1500,
         "air flow|maf|mass air flow|air flow rate|air mass|mass air flow rate|airflow|air mass flow"
         "|mass flow|air flow rate mass flow"),
    _row("fuel_flow", "fuel flow", "volume flow", "L/h", 0, 300,
         "fuel rate|fuel flow|engine fuel rate|fuel flow rate"),
    _row("throttle", "throttle position", "share", "%", -5, 110,
         "throttle|throttle position|tps|throttle pos|absolute throttle position|throttle angle"
         "|absolute throttle position b|relative throttle position", True),
    _row("pedal", "accelerator pedal", "share", "%", -5, 110,
         "pedal|accelerator pedal|accelerator pedal position|pedal position|accelerator position"
         "|app|accelerator", True),
    _row("engine_load", "engine load", "share", "%", -5, 400,
         "engine load|load|calculated load|absolute load|calc load|calculated engine load", True),
    _row("wastegate_duty", "wastegate duty", "share", "%", -5, 110,
         "wastegate duty|wgdc|wastegate|boost solenoid duty|boost duty", True),
    _row("fan_duty", "fan duty", "share", "%", -5, 110, "fan duty|fan|radiator fan|fan speed duty", True),
    _row("lambda", "air-fuel ratio over stoichiometric", "ratio", "lambda", 0.3, 20,
         "lambda|o2 lambda|equivalence ratio|air fuel ratio|afr|wideband", True),
    _row("ignition_advance", "ignition advance", "angle", "deg", -60, 80,
         "ignition advance|timing advance|ignition timing|spark advance|ignition|timing", True),
    _row("gear", "gear", "ratio", "lambda", -2, 12, "gear|gear position|current gear", True),
    _row("gps_latitude", "latitude", "angle", "deg", -90, 90, "latitude|lat|gps latitude|gps lat"),
    _row("gps_longitude", "longitude", "angle", "deg", -180, 180,
         "longitude|lon|long|gps longitude|gps lon|lng|gps long"),
    _row("altitude", "altitude", "length", "m", -500, 9000,
         "altitude|elevation|gps altitude|height|alt|gps alt"),
    _row("distance", "distance", "length", "m", 0, 5e6, "distance|trip distance|lap distance|odometer|dist"),
    _row("acceleration_along", "acceleration along", "acceleration", "g", -6, 6,
         "longitudinal acceleration|long acc|acceleration x|acc x|longitudinal g|g long|accel x", True),
    _row("acceleration_across", "acceleration across", "acceleration", "g", -6, 6,
         "lateral acceleration|lat acc|acceleration y|acc y|lateral g|g lat|accel y", True),
    _row("brake_pressure", "brake pressure", "pressure", "bar", -5, 300,
         "brake pressure|brake line pressure", True),
    _row("voltage", "supply voltage", "voltage", "V", -1, 60,
         "battery voltage|voltage|battery|control module voltage|supply voltage|module voltage"),
    _row("fuel_trim", "fuel trim", "share", "%", -100, 100,
         "fuel trim|long term fuel trim|short term fuel trim|ltft|stft|long fuel trim|short fuel trim", True),
    _row("fuel_level", "fuel level", "share", "%", -1, 105,
         "fuel level|fuel tank level|fuel level input|fuel tank", True),
    _row("purge_duty", "canister purge", "share", "%", -5, 110,
         "evaporative purge|commanded evaporative purge|evap purge|purge", True),
    _row("event_count", "count since another event", "ratio", "lambda", -1, 1e6,
         "time since codes cleared|time since trouble codes cleared|time run with mil on|run time mil|mil time"
         "|distance travelled with mil on|distance traveled with mil on|distance with mil|warm ups since codes cleared"
         "|distance since codes cleared|time with mil on|time since dtc cleared|warmups since cleared", True),
    _row("head_temperature", "cylinder head temperature", "temperature", "degC", -45, 350,
         "cylinder head temp|cht|head temp"),
    _row("humidity", "relative humidity", "share", "%", 0, 105, "humidity|relative humidity"),
    _row("lap", "lap number", "ratio", "lambda", 0, 1e4, "lap|lap number|lap no", True),
)  # fmt: skip

QUANTITIES = {row.key: row for row in TABLE}
