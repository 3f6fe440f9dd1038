"""Make `unit_table.py` from `units.txt`, with pint: `python -m slackwater.protocol.units.unit_making`.

pint reads the definitions and reckons the factors. That takes longer than everything else a check
does, and gives the same every time, so it is done once and kept; a test makes the table anew.
"""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path
from typing import Any

_HEAD = '''"""Every unit that may be written. Made by `python -m slackwater.protocol.units.unit_making`."""

from __future__ import annotations

# Name: symbol, factor to the base units, offset to the base unit, dimension.
UNITS: dict[str, tuple[str, float, float, tuple[tuple[str, int], ...]]] = {
'''
_TEMPERATURES = (("degC", "degree_celsius"), ("degF", "degree_fahrenheit"))


def registry() -> Any:
    """pint's registry of the units in `units.txt`."""
    import pint

    with as_file(files("slackwater.protocol.units") / "units.txt") as path:
        return pint.UnitRegistry(path)


def render() -> str:
    """The text of `unit_table.py`."""
    known = registry()
    spellings = {spelling: known.get_name(spelling, case_sensitive=True) for spelling in known}
    for short, long in _TEMPERATURES:
        spellings[short] = long
        for lead in ("delta_", "Δ"):
            spellings[lead + short] = f"delta_{long}"
    lines = [_HEAD]
    for name in sorted(set(spellings.values())):
        lines.append(f"    {name!r}: {_row(known, name)!r},\n")
    lines.append("}\n\n# Spelling: name.\nSPELLINGS: dict[str, str] = {\n")
    lines += [f"    {spelling!r}: {name!r},\n" for spelling, name in sorted(spellings.items())]
    lines.append("}\n")
    return "".join(lines).replace("'", '"')


def _row(known: Any, name: str) -> tuple[str, float, float, tuple[tuple[str, int], ...]]:
    symbol = str(known.get_symbol(name))
    symbol = symbol.replace("Δ", "delta_") if symbol.startswith("Δ") else symbol
    unit = known.parse_units(name, as_delta=False)
    dimension = tuple(
        sorted((kind, int(power)) for kind, power in known.get_dimensionality(unit).items())
    )
    is_point = name in {long for _, long in _TEMPERATURES}
    factor, _ = known.get_root_units(f"delta_{name}" if is_point else unit)
    offset = float(known.convert(0.0, unit, "kelvin")) if is_point else 0.0
    return symbol, float(factor), offset, dimension


def write() -> Path:
    """Write the table where the package keeps it."""
    with as_file(files("slackwater.protocol.units") / "unit_table.py") as path:
        path.write_text(render(), encoding="utf-8", newline="\n")
        return path


if __name__ == "__main__":
    print(write())
