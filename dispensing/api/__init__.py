"""The HTTP API of the dispensing record: patients, prescriptions, frames, fittings, and the measuring of photos.

Serializers define the JSON. The same forms as on the pages judge the values, and the same services write them.
"""
