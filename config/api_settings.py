"""How the OpenAPI document is made."""

from __future__ import annotations

DESCRIPTION = """\
The record and the arithmetic for a coach roof restorer's promise.

Every error is a problem (RFC 9457). Lists are pages: follow `next` until it is null.
Facts are never changed: a correction is a new record that names the old one in
`supersedes`. The same `uuid` with the same body is the same record. Numbers carry
their unit in their name; decimals are strings; money is whole cents with a currency.
"""

SPECTACULAR_SETTINGS = {
    "TITLE": "Roof Register",
    "VERSION": "1",
    "DESCRIPTION": DESCRIPTION,
    "OAS_VERSION": "3.1.1",
    "SCHEMA_PATH_PREFIX": r"/api/v1/",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_AUTHENTICATION": [],
    "SORT_OPERATION_PARAMETERS": False,
    "COMPONENT_SPLIT_REQUEST": False,
    "COMPONENT_SPLIT_PATCH": False,
    "PREPROCESSING_HOOKS": ["config.openapi.only_this_version"],
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "config.openapi.finish",
    ],
    "ENUM_NAME_OVERRIDES": {
        "Cause": "config.openapi.CAUSE",
        "ClaimStatus": "config.openapi.CLAIM_STATUS",
        "DoubtSign": "config.openapi.SIGN",
        "DoubtWord": "warranty.models.DoubtWord",
        "EvidenceNeed": "config.openapi.NEED",
        "Outcome": "config.openapi.OUTCOME",
        "CoachBody": "fleet.models.Body",
        "CoatRole": "fleet.models.CoatRole",
        "ExhibitKind": "fleet.models.ExhibitKind",
        "FilmMethod": "fleet.models.FilmMethod",
        "AdhesionMethod": "fleet.models.AdhesionMethod",
        "MoistureMode": "fleet.models.MoistureMode",
        "OwnerKind": "fleet.models.OwnerKind",
        "MatchedBy": "fleet.models.MatchedBy",
        "MergeKind": "fleet.models.MergeKind",
        "PenetrationKind": "fleet.models.PenetrationKind",
        "ReplayedVerdict": "config.openapi.REPLAYED_VERDICT",
        "Role": "fleet.models.Role",
        "Severity": "fleet.models.Severity",
        "Standing": "config.openapi.STANDING",
        "Substrate": "fleet.models.Substrate",
        "Verdict": "config.openapi.VERDICT",
        "Clause": "config.openapi.CLAUSE",
        "Anchor": "config.openapi.ANCHOR",
        "Designation": "config.openapi.DESIGNATION",
        "LengthUnit": "config.openapi.LENGTH_UNIT",
        "RunState": "jobs.models.RunState",
        "TrayState": "fleet.models.TrayState",
        "WaivableClause": "config.openapi.WAIVABLE",
        "VisitKind": "fleet.models.VisitKind",
        "VisitResult": "fleet.models.VisitResult",
    },
}
