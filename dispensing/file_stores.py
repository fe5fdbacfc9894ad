"""Where scans and photos lie: a folder of this machine, or an object store that speaks S3, by one address.

``s3://BUCKET/FOLDER?endpoint=https://store.example&region=eu-central-1``; folder, endpoint and region may be left out.
Keys never stand in the address: they come from where programs that speak S3 usually look, as AWS_ACCESS_KEY_ID and
AWS_SECRET_ACCESS_KEY in the environment. Read by the settings, so it knows neither Django's nor anybody's models.
"""

from __future__ import annotations

from typing import Any
from urllib.parse import parse_qs, urlsplit

IN_MEMORY_BYTES = 5 * 1024 * 1024
"""What is larger passes through a temporary file on its way to and from an object store."""

_MAY_BE_SAID = {"endpoint", "region"}


class StoreAddressError(ValueError):
    """The address of a store cannot be read; the message says how one is written."""


def file_store(address: str) -> dict[str, Any]:
    """The entry of Django's ``STORAGES`` for an address; the empty one means a local folder."""
    if not address:
        return {"BACKEND": "django.core.files.storage.FileSystemStorage"}
    parts = urlsplit(address)
    said = parse_qs(parts.query, strict_parsing=True) if parts.query else {}
    if parts.scheme != "s3" or not parts.hostname or "@" in parts.netloc or set(said) - _MAY_BE_SAID:
        raise StoreAddressError("it is written s3://bucket/folder?endpoint=https://host&region=name, without keys")
    return {"BACKEND": "storages.backends.s3.S3Storage", "OPTIONS": _s3_options(parts.netloc, parts.path, said)}


def _s3_options(bucket: str, folder: str, said: dict[str, list[str]]) -> dict[str, Any]:
    endpoint, region = (said.get(name, [None])[0] for name in ("endpoint", "region"))
    return {
        "bucket_name": bucket,
        "location": folder.strip("/"),
        "endpoint_url": endpoint,
        "region_name": region,
        # Stores of one's own rarely have a name for each bucket.
        "addressing_style": "path" if endpoint else "auto",
        "signature_version": "s3v4",
        "default_acl": None,
        "file_overwrite": False,
        "max_memory_size": IN_MEMORY_BYTES,
        "object_parameters": {"CacheControl": "private, no-store"},
    }
