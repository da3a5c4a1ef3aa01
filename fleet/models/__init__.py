"""Records of coaches, roofs, visits and readings."""

from __future__ import annotations

from fleet.models.base import OFFICE_SCOPE, CoachFact, Record, RoofFact
from fleet.models.booking import Booking, BookingState
from fleet.models.check import Answer, Check
from fleet.models.checkpoint import Checkpoint, SigningKey
from fleet.models.coach import (
    Body,
    Coach,
    CoachDescription,
    Ownership,
    Retirement,
    Substrate,
)
from fleet.models.device import (
    DEVICE_SCOPE,
    FieldDevice,
    PairingAttempt,
    PairingCode,
)
from fleet.models.exhibit import (
    Damage,
    Derivative,
    Exhibit,
    ExhibitKind,
    LikenessBand,
    Look,
    MatchedBy,
    SignerRole,
    StoredFile,
)
from fleet.models.field_operation import (
    FieldOperation,
    FieldPhoto,
    OperationState,
    Settlement,
)
from fleet.models.merge import Merge, MergeKind
from fleet.models.met_coach import MetCoach
from fleet.models.owner import Owner, OwnerKind
from fleet.models.penetration import Alteration, Penetration, PenetrationKind
from fleet.models.private_text import PrivateText
from fleet.models.reading import (
    AdhesionMethod,
    AdhesionReading,
    ClimateReading,
    CoatLog,
    FilmMethod,
    FilmReading,
    MoistureMode,
    MoistureReading,
)
from fleet.models.roof import Installation, LedgerEntry, LedgerHead, Roof
from fleet.models.system import CoatRole, System, SystemCoat, SystemSubstrate
from fleet.models.tray import TrayPhoto, TrayState
from fleet.models.user import Role, User
from fleet.models.visit import (
    Cure,
    Finding,
    Severity,
    Technician,
    Visit,
    VisitKind,
    VisitResult,
)

__all__ = [
    "DEVICE_SCOPE",
    "OFFICE_SCOPE",
    "AdhesionMethod",
    "AdhesionReading",
    "Alteration",
    "Answer",
    "Body",
    "Booking",
    "BookingState",
    "Check",
    "Checkpoint",
    "ClimateReading",
    "Coach",
    "CoachDescription",
    "CoachFact",
    "CoatLog",
    "CoatRole",
    "Cure",
    "Damage",
    "Derivative",
    "Exhibit",
    "ExhibitKind",
    "FieldDevice",
    "FieldOperation",
    "FieldPhoto",
    "FilmMethod",
    "FilmReading",
    "Finding",
    "Installation",
    "LedgerEntry",
    "LedgerHead",
    "LikenessBand",
    "Look",
    "MatchedBy",
    "Merge",
    "MergeKind",
    "MetCoach",
    "MoistureMode",
    "MoistureReading",
    "OperationState",
    "Owner",
    "OwnerKind",
    "Ownership",
    "PairingAttempt",
    "PairingCode",
    "Penetration",
    "PenetrationKind",
    "PrivateText",
    "Record",
    "Retirement",
    "Role",
    "Roof",
    "RoofFact",
    "Settlement",
    "Severity",
    "SignerRole",
    "SigningKey",
    "StoredFile",
    "Substrate",
    "System",
    "SystemCoat",
    "SystemSubstrate",
    "Technician",
    "TrayPhoto",
    "TrayState",
    "User",
    "Visit",
    "VisitKind",
    "VisitResult",
]
