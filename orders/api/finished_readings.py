"""Readings of a finished pair over the API: listed with their verdicts, and added by the page's own service."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError as NotTaken
from drf_spectacular.utils import extend_schema
from rest_framework import status
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from dispensing.api.as_typed import Faults, refuse
from dispensing.api.reading import caller
from orders.api.documents import document_of
from orders.api.refusals import Conflict, valid, with_conflicts
from orders.api.serializers import FinishedReadingSerializer, FinishedReadingsSerializer, NewReadingSerializer
from orders.documents.finished_pair import parse_readings
from orders.services.finished_pairs import record_reading, sent_document, standing


class FinishedReadings:
    """Mix this into a view set of orders."""

    get_object: Any

    @extend_schema(responses=FinishedReadingsSerializer)
    @action(detail=True, methods=["get"], url_path="finished-readings", url_name="finished-readings")
    def finished_readings(self, request: Request, **kwargs: Any) -> Response:
        """Every reading of the finished pair, newest first, and how the pair stands by them."""
        stands = standing(self.get_object())
        return Response(
            {
                "result": stands.result or None,
                "waits_for_second_reader": stands.waits_for_second_reader,
                "readings": FinishedReadingSerializer(stands.rows, many=True).data,
            }
        )

    @extend_schema(request=NewReadingSerializer, responses={201: FinishedReadingSerializer})
    @finished_readings.mapping.post
    def add_finished_reading(self, request: Request, **kwargs: Any) -> Response:
        """Add a reading; it is judged by the practice's standard, and the pair noted as received if it was not.

        If a second reader is awaited and the caller did not read the pair first, this is the second reading. 409 if no
        pair of this order can be here.
        """
        order = self.get_object()
        given, faults = valid(NewReadingSerializer(data=request.data)), Faults()
        readings = document_of(given["readings"], "readings", parse_readings, faults)
        refuse(faults)
        try:
            sent_document(order)
        except NotTaken as refused:
            raise Conflict(" ".join(refused.messages)) from refused
        try:
            row = with_conflicts(
                record_reading,
                order=order,
                actor=caller(request),
                readings=readings,
                inspection=given.get("inspection") or {},
                note=given.get("note", ""),
                second_of=standing(order).first_of_somebody_else(caller(request)),
            )
        except NotTaken as refused:
            raise ValidationError({"inspection": refused.messages}) from refused
        return Response(FinishedReadingSerializer(row).data, status=status.HTTP_201_CREATED)
