"""Messages of NMEA 2000 inside sentences of NMEA 0183 (PCDIN): values by quantity and sender.

The layout is that of open readers: parameter group, a stamp of the gateway, source, and the whole message, each
in hexadecimal; the message is joined already. The stamp is not used, since gateways write it in several ways:
the sentence has the time of its cycle. MXPGN is another such sentence. Its gateways send the bytes in either
order and do not tell which, so it is counted and not read.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from slackwater.analysis.logs.blocks import Sentences
from slackwater.analysis.logs.bus_dates import DATED, moments_of
from slackwater.analysis.logs.bus_text import BROKEN, hex_bytes, hex_number
from slackwater.analysis.logs.channels import Numbers
from slackwater.analysis.logs.decimals import Whole
from slackwater.analysis.logs.parameter_groups import NOT_READ, decode, is_read

ADDRESS, UNORDERED = "PCDIN", "MXPGN"
ORDER_UNKNOWN = "NMEA 2000 in a sentence (MXPGN) that does not tell the order of its bytes"

_CODE = int.from_bytes(ADDRESS.encode())
_FIELDS = 4


@dataclass(frozen=True, slots=True)
class Carried:
    """Values of one quantity from one sender on the bus: line within the block, and value.

    Without a quantity the values are moments that the sender tells. [s since 1970]
    """

    quantity: str
    source: str
    line: Whole
    values: Numbers


def carrying(found: Sentences, *, checked: bool) -> Whole:
    """Which sentences of a block carry a message, of those with a checksum or of those without."""
    rows: Whole = np.flatnonzero((found.address == _CODE) & (found.checked == checked))
    return rows


def read_carried(found: Sentences, rows: Whole, faults: Counter[str]) -> Iterator[Carried]:
    """Decode the messages that some sentences of a block carry."""
    first = np.searchsorted(found.commas, found.start[rows])
    bounds = np.append(found.commas, np.full(_FIELDS, found.data.size - 1))
    edges = [np.minimum(bounds[first + at], found.stop[rows]) for at in range(_FIELDS)]
    group = hex_number(found.data, edges[0] + 1, 6)
    source = hex_number(found.data, edges[2] + 1, 2)
    payload, length, good = hex_bytes(found.data, edges[3] + 1, found.stop[rows], 2)
    good &= (edges[1] - edges[0] == 7) & (edges[3] - edges[2] == 3)
    good &= (group >= 0) & (source >= 0) & (length > 0)
    faults[BROKEN] += int((~good).sum())
    known = good & is_read(np.maximum(group, 0))
    faults[NOT_READ] += int((good & ~known).sum())
    for one in np.unique(group[known]).tolist():
        of_group = np.flatnonzero(known & (group == one))
        if one in DATED:
            told, moments = moments_of(one, payload[of_group], length[of_group])
            line = found.line[rows[of_group[told]]]
            yield Carried("", str(one), line, moments)
        for decoded in decode(one, payload[of_group], length[of_group], faults):
            mine = of_group[decoded.rows]
            keys = source[mine] * 256 + decoded.which + 1
            for key in np.unique(keys).tolist():
                these = keys == key
                sender, number = divmod(key, 256)
                name = f"{one} from {sender} in {ADDRESS}"
                name += f" no. {number - 1}" if number else ""
                yield Carried(
                    decoded.quantity,
                    f"{name} {decoded.kind}".rstrip(),
                    found.line[rows[mine[these]]],
                    decoded.values[these],
                )
