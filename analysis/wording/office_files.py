"""Files of office programs without the time of their making, so that equal contents have equal bytes."""

from __future__ import annotations

import io
from datetime import datetime

NO_TIME = datetime(1980, 1, 1)  # the first that an archive can hold
_NO_TIME_TEXT = b"1980-01-01T00:00:00Z"


def without_times(data: bytes) -> bytes:
    """The same archive, every part and the properties dated `NO_TIME`."""
    import re
    import zipfile

    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as made,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as plain,
    ):
        for name in made.namelist():
            part = made.read(name)
            if name == "docProps/core.xml":
                part = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>" + _NO_TIME_TEXT, part)
            entry = zipfile.ZipInfo(name, NO_TIME.timetuple()[:6])
            entry.compress_type = zipfile.ZIP_DEFLATED
            plain.writestr(entry, part)
    return out.getvalue()
