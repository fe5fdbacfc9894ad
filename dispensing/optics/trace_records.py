"""The line syntax of trace records: labels, values, continued lines, right;left pairs. It knows no geometry.

Each line is one record, `LABEL=data`, with fields separated by `;`. Lines end with CR LF, LF or CR; a line without a
label continues the one before. Framing characters of a serial line (FS, GS, RS) and its CRC record are skipped. Labels
other than the few known ones are kept as text and never interpreted. Syntax as seen in public descriptions and open
implementations of ISO 16284 / the Data Communication Standard; the normative text was not consulted.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from dispensing.optics.errors import OpticsError

LARGEST_FILE_BYTES = 200_000
FRAMING = dict.fromkeys((0x1C, 0x1D, 0x1E))
UNKNOWN_VALUE = "?"
LABEL = re.compile(r"^([A-Z_][A-Z0-9_]*)=(.*)$", re.ASCII)


@dataclass(frozen=True)
class Record:
    """One line of the file: its label, its text after the `=`, and its line number (from 1)."""

    label: str
    text: str
    line: int

    def fields(self) -> list[str]:
        """The text split at the semicolons, with blanks and a trailing semicolon dropped. Only ASCII is accepted."""
        if not self.text.isascii():
            raise OpticsError(f"record {self.label} in line {self.line}", self.text, "", "plain ASCII characters")
        parts = [part.strip() for part in self.text.split(";")]
        return parts[:-1] if len(parts) > 1 and parts[-1] == "" else parts

    def integers(self) -> list[int]:
        """The fields as whole numbers; raises OpticsError naming the first that is not one."""
        return [self._integer(field) for field in self.fields()]

    def _integer(self, field: str) -> int:
        if not re.fullmatch(r"[+-]?\d{1,9}", field):
            raise OpticsError(f"record {self.label} in line {self.line}", repr(field), "", "whole numbers")
        return int(field)

    def numbers(self) -> list[float | None]:
        """The fields as decimals; None for an empty or unknown (`?`) one. Raises OpticsError for anything else."""
        return [self._number(field) for field in self.fields()]

    def _number(self, field: str) -> float | None:
        if field in ("", UNKNOWN_VALUE):
            return None
        if not re.fullmatch(r"[+-]?\d{1,6}(\.\d{0,6})?", field):
            raise OpticsError(f"record {self.label} in line {self.line}", repr(field), "", "a decimal number")
        return float(field)


def read_records(data: bytes) -> list[Record]:
    """The records of a file, in order.

    Raises OpticsError for a file that is empty, is over 200 kB, holds a NUL, or starts with anything but a label.
    """
    if not 0 < len(data) <= LARGEST_FILE_BYTES:
        raise OpticsError("size of the trace file", len(data), "bytes", f"1 to {LARGEST_FILE_BYTES} bytes")
    if b"\0" in data:
        raise OpticsError("trace file", "binary", "", "text; save the trace again as ASCII radii")
    # Names may have accents; whatever is interpreted must be ASCII, field by field.
    text = data.decode("latin-1").translate(FRAMING)
    records: list[Record] = []
    for number, line in enumerate(re.split(r"\r\n|\n|\r", text), start=1):
        if line.strip():
            _take(records, line.strip(), number)
    return [record for record in records if record.label != "CRC"]


def _take(records: list[Record], line: str, number: int) -> None:
    found = LABEL.match(line)
    if found:
        records.append(Record(found[1], found[2], number))
    elif records:
        last = records.pop()
        records.append(Record(last.label, last.text + line, last.line))
    else:
        raise OpticsError(f"trace file, line {number}", repr(line[:40]), "", "a record such as TRCFMT=1;400;E;R;F")
