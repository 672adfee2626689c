"""Reads the values of a job file, and what published tables say of wires and fuses: for by_hand.py."""

import math
import re

# Largest resistance at 20 °C of flexible plain copper, Ω/km: IEC 60228 class 5 (below 0.5 mm²: VDE 0295).
CLASS_5 = {0.05: 380, 0.08: 237, 0.14: 134, 0.22: 96, 0.25: 76, 0.34: 53, 0.5: 39, 0.75: 26, 1.0: 19.5,
           1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.3, 10.0: 1.91}
RHO, ALPHA = 1 / 58, 0.00393  # Ω·mm²/m and per kelvin: IEC 60028
# Cold resistance of T fuses, an example of a maker's sheet: rating in A, Ω; straight on log-log paper.
FUSES = [(0.2, 1.60), (0.5, 0.37), (1.0, 0.1165), (2.0, 0.0452), (3.15, 0.0231)]
PREFIX = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "": 1.0}
UNITS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "mm²": 1e-6, "mm2": 1e-6, "cm²": 1e-4, "°C": 1.0, "K": 1.0, "%": 1e-2,
         "K/W": 1.0, "m³/h": 1.0, "min": 60.0}


def scale(unit):
    """Gives a unit's base and its factor: `mΩ` is (`Ω`, 0.001)."""
    unit = unit.replace("ohm", "Ω")
    if unit in UNITS:
        return unit, UNITS[unit]
    for base in ("V", "A", "W", "Ω", "Hz", "F", "s", "A²s"):
        if unit.endswith(base) and unit[:-len(base)] in PREFIX:
            return base, PREFIX[unit[:-len(base)]]
    raise ValueError(f"no unit {unit!r}")


def value(text, implied=(1, 1)):
    """Reads `2.3 A`, `2.3 A ± 25 %`, `12 V ± 0.3 V`, `90..264 V`: (nominal, low, high, base unit)."""
    text = text.split(" for ")[0].strip()
    number = r"([-+−]?[\d.]+(?:e[-+]?\d+)?)"
    if match := re.fullmatch(r"([-+]?\d+(?:\.\d+)?)\s*\.\.\s*([-+]?\d+(?:\.\d+)?)\s*(\S+)", text):
        base, factor = scale(match[3])
        low, high = float(match[1]) * factor, float(match[2]) * factor
        return (low + high) / 2, low, high, base
    match = re.fullmatch(number + r"\s*(\S+)(?:\s*±\s*([\d.]+)\s*(\S+))?", text.replace("+-", "±"))
    if not match:
        raise ValueError(f"cannot read {text!r}")
    base, factor = scale(match[2])
    nominal = float(match[1].replace("−", "-")) * factor
    if match[3] is None:
        ends = nominal * implied[0], nominal * implied[1]
    else:
        by = float(match[3]) * scale(match[4])[1] * (abs(nominal) if match[4] == "%" else 1)
        ends = nominal - by, nominal + by
    return nominal, min(ends), max(ends), base


def si(text):
    """Gives the nominal value in SI units."""
    return value(text)[0]


def conductor(size):
    """Gives (Ω/m at 20 °C, diameter of the nominal area in m) of a wire's size."""
    if match := re.fullmatch(r"AWG\s*(\d+)", size):
        diameter = 0.127 * 92 ** ((36 - int(match[1])) / 39)
        return RHO / (math.pi * diameter**2 / 4), diameter * 1e-3
    area = si(size) * 1e6
    metric = next((ohms for mm2, ohms in CLASS_5.items() if abs(mm2 - area) < 1e-6), None)
    return (RHO / area if metric is None else metric * 1e-3), math.sqrt(4 * area / math.pi) * 1e-3


def fuse_ohms(part):
    """Gives the cold resistance of a fuse: as its sheet says, else from the examples."""
    if "resistance" in part:
        return si(part["resistance"])
    rating = si(part["rating"])
    k = min(max(sum(r <= rating for r, _ in FUSES), 1), len(FUSES) - 1)
    (a, ra), (b, rb) = FUSES[k - 1], FUSES[k]
    return ra * (rb / ra) ** (math.log(rating / a) / math.log(b / a))
