"""A folder that the lab watches: each file is complete when it appears, under the order's number.

Folders lie below the one place that the installation sets aside for them. An order is a PDF and then its JSON, so
whoever waits for the JSON has both; a withdrawal or an answer is one JSON. What is there already, to the last byte, is
not written again; anything else of that name is left alone and shown to people.
"""

from __future__ import annotations

import os
import uuid
from pathlib import Path

from django.conf import settings

from orders.models import Delivery
from orders.models.deliveries import Message
from orders.sending.errors import DeliveryError, Failure
from orders.sending.messages import text_of


def send(delivery: Delivery) -> str:
    """Write what is not there yet; raises `DeliveryError`."""
    folder = Path(settings.LABS_FOLDER) / delivery.address
    if not delivery.address or not folder.is_dir():
        # Not made here: a folder that is missing may be a drive that is not there.
        raise DeliveryError(f"The folder {folder} is not there. Make it, or mount it.", Failure.TEMPORARY)
    names = []
    try:
        for name, content in files_of(delivery):
            write_whole(folder / name, content)
            names.append(name)
    except FileExistsError as error:
        said = f"Another file named {error.filename} is there already; look what it is."
        raise DeliveryError(said, Failure.PERMANENT) from error
    except OSError as error:
        raise DeliveryError(f"The folder cannot be written to ({error.strerror}).", Failure.TEMPORARY) from error
    return f"Written: {', '.join(names)}"


def files_of(delivery: Delivery) -> list[tuple[str, bytes]]:
    """Name and content of each file, in the order in which they appear."""
    document = delivery.document
    stem = f"{document.number}-{document.revision}"
    if delivery.message == Message.ORDER:
        return [(f"{stem}.pdf", bytes(document.pdf)), (f"{stem}.json", document.text.encode())]
    about = f"-{delivery.event_id}" if delivery.message == Message.ANSWER else ""
    return [(f"{stem}-{delivery.message}{about}.json", text_of(delivery).encode())]


def write_whole(path: Path, content: bytes) -> None:
    """Write the file so that nobody ever sees a part of it. Raises `FileExistsError` for another of that name."""
    if path.exists():
        if path.read_bytes() != content:
            raise FileExistsError(17, "File exists", path.name)
        return
    part = path.with_name(f".{path.name}.{uuid.uuid4().hex}.part")
    try:
        with part.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
