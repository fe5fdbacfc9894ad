"""The HTTP API of the dispensing record: patients, prescriptions, frames, fittings, and the measuring of photos.

Serializers say what JSON looks like; what the trade objects to is said by the same forms as on the pages, and
writing is done by the same services.
"""
