"""Canonical JSON (RFC 8785), which writes a document in only one way, and its SHA-256, to prove that copies agree."""

from __future__ import annotations

import hashlib
from typing import Any

import rfc8785

from dispensing.documents import DocumentPart


def plain(document: DocumentPart) -> dict[str, Any]:
    """The document as JSON values; keys that were never set are left out, so nothing is made up."""
    return document.model_dump(mode="json", exclude_unset=True, by_alias=True)


def canonical_bytes(document: DocumentPart) -> bytes:
    """The document as RFC 8785 canonical JSON, UTF-8."""
    return rfc8785.dumps(plain(document))


def sha256_hex(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
