"""What is said in Spanish."""

from __future__ import annotations

from datetime import date

from jobs.notices.words import Wording, Words
from warranty.rules.ladder import Step

_MONTHS = (
    *("enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto"),
    *("septiembre", "octubre", "noviembre", "diciembre"),
)


def on(day: date) -> str:
    """Return a civil date in words, e.g. ``8 de abril de 2026``."""
    return f"{day.day} de {_MONTHS[day.month - 1]} de {day.year}"


_RISK = (
    "Después del {due} la garantía queda en riesgo. Sin inspección hasta el {grace} "
    "queda suspendida, y una gotera notada mientras está suspendida no está cubierta."
)
_DUE = Wording(
    subject="Inspección del techo para el {due}: vehículo {unit}",
    what="La inspección del techo de {coach} vence el {due}. Cuenta desde el {window}.",
    by="Haga inspeccionar el techo hasta el {due}.",
    otherwise=_RISK,
    short="inspección para el {due}",
)
_GRACE = Wording(
    subject="Inspección del techo vencida desde el {due}: vehículo {unit}",
    what="La inspección del techo de {coach} venció el {due}. Todavía cuenta hasta el "
    "{grace}.",
    by="Haga inspeccionar el techo hasta el {grace}.",
    otherwise="Sin inspección hasta el {grace} la garantía queda suspendida, y una "
    "gotera notada mientras está suspendida no está cubierta.",
    short="inspección vencida desde el {due}, cuenta hasta el {grace}",
)

SPANISH = Words(
    steps={
        Step.BEFORE_60: _DUE,
        Step.BEFORE_30: _DUE,
        Step.BEFORE_7: _DUE,
        Step.ON_THE_DAY: Wording(
            subject="El día de la inspección del techo es el {due}: vehículo {unit}",
            what="La inspección del techo de {coach} vence el {due}.",
            by="Haga inspeccionar el techo hasta el {due}. Cuenta aún hasta el "
            "{grace}.",
            otherwise=_RISK,
            short="inspección para el {due}",
        ),
        Step.MID_GRACE: _GRACE,
        Step.LAST_GRACE_WEEK: Wording(
            subject="Última semana para la inspección del techo: vehículo {unit}",
            what="La inspección del techo de {coach} venció el {due}. Cuenta hasta el "
            "{grace}, y no más.",
            by="Haga inspeccionar el techo hasta el {grace}.",
            otherwise="Sin inspección hasta el {grace} la garantía queda suspendida, y "
            "una gotera notada mientras está suspendida no está cubierta.",
            short="última semana: la inspección cuenta hasta el {grace}",
        ),
        Step.SUSPENDED: Wording(
            subject="La garantía del techo está suspendida: vehículo {unit}",
            what="El techo de {coach} no se inspeccionó a tiempo; por eso la garantía "
            "está suspendida. Una gotera notada mientras tanto no está cubierta.",
            by="Haga inspeccionar y restablecer el techo hasta el {by}.",
            otherwise="Sin restablecimiento hasta el {by} la garantía termina.",
            short="suspendida; se puede restablecer hasta el {by}",
        ),
        Step.REINSTATED: Wording(
            subject="La garantía del techo vuelve a regir: vehículo {unit}",
            what="La garantía del techo de {coach} vuelve a regir. Una gotera notada "
            "mientras estaba suspendida sigue sin cobertura.",
            short="rige de nuevo",
        ),
        Step.ENDED: Wording(
            subject="La garantía del techo ha terminado: vehículo {unit}",
            what="Según nuestros registros la garantía del techo de {coach} ha "
            "terminado: se cumplió su plazo, el vehículo ya no circula, o pasó el "
            "tiempo para restablecerla. Si nuestros registros se equivocan, díganoslo "
            "y los revisamos.",
            short="terminada",
        ),
        Step.REGISTRATION: Wording(
            subject="Registre el techo hasta el {about}: vehículo {unit}",
            what="La garantía del techo de {coach} todavía no está registrada.",
            by="Regístrela con nosotros hasta el {about}.",
            otherwise="Sin registro hasta entonces, la garantía no entra en vigor.",
            short="registrar hasta el {about}",
        ),
        Step.CURE: Wording(
            subject="Un hallazgo grave debe repararse hasta el {about}: "
            "vehículo {unit}",
            what="Un hallazgo grave en el techo de {coach} sigue abierto.",
            by="Hágalo reparar hasta el {about}.",
            otherwise="Sin reparación hasta entonces, la garantía queda suspendida "
            "hasta que se repare, y una gotera notada mientras tanto no está cubierta.",
            short="hallazgo grave: reparar hasta el {about}",
        ),
        Step.CLAIM: Wording(
            subject="Su reclamo {ref}: vehículo {unit}",
            what="Hay novedades de su reclamo {ref} sobre el techo de {coach}.",
            short="novedades del reclamo {ref}",
        ),
    },
    suspended_by_finding=Wording(
        subject="La garantía del techo está suspendida: vehículo {unit}",
        what="Un hallazgo grave en el techo de {coach} no se reparó a tiempo; por eso "
        "la garantía está suspendida hasta que se repare. Una gotera notada mientras "
        "tanto no está cubierta.",
        by="Haga reparar el hallazgo lo antes posible.",
        short="suspendida hasta que se repare un hallazgo grave",
    ),
    claims={
        "REPORTED": Wording(
            subject="Tenemos su reclamo {ref}: vehículo {unit}",
            what="Tenemos su aviso sobre el techo de {coach}. Es el reclamo {ref}. "
            "Evite que entre agua en lo que pueda sin peligro, y guarde fotos.",
            by="Le debemos una respuesta hasta el {answer}.",
            otherwise="Si no sabe nada hasta entonces, llámenos: el reclamo sigue "
            "abierto.",
            short="reclamo {ref} recibido",
        ),
        "WAIT": Wording(
            subject="El reclamo {ref} espera su respuesta: vehículo {unit}",
            what="Necesitamos algo de usted sobre el reclamo {ref} del techo de "
            "{coach}.",
            by="Respóndanos cuando pueda; el plazo para decidir se detiene hasta "
            "entonces.",
            otherwise="Sin su respuesta el reclamo sigue abierto y sin decidir.",
            short="el reclamo {ref} espera su respuesta",
        ),
        "DECIDE": Wording(
            subject="El reclamo {ref} está decidido: vehículo {unit}",
            what="El reclamo {ref} sobre el techo de {coach} está decidido. La carta "
            "con nuestras razones, cláusula por cláusula, se le envía.",
            by="Si usted lo ve de otro modo, díganoslo: un reclamo puede reabrirse.",
            short="reclamo {ref} decidido",
        ),
        "REMEDY": Wording(
            subject="Trabajo registrado en el reclamo {ref}: vehículo {unit}",
            what="Lo que se hizo por el reclamo {ref} en el techo de {coach} está "
            "registrado.",
            short="reclamo {ref}: trabajo registrado",
        ),
        "CLOSE": Wording(
            subject="El reclamo {ref} está cerrado: vehículo {unit}",
            what="El reclamo {ref} sobre el techo de {coach} está cerrado. Si queda "
            "algo por hacer, díganoslo: un reclamo puede reabrirse.",
            short="reclamo {ref} cerrado",
        ),
        "WITHDRAW": Wording(
            subject="El reclamo {ref} está retirado: vehículo {unit}",
            what="El reclamo {ref} sobre el techo de {coach} está retirado. Si no fue "
            "su deseo, díganoslo: un reclamo puede reabrirse.",
            short="reclamo {ref} retirado",
        ),
        "REOPEN": Wording(
            subject="El reclamo {ref} está abierto de nuevo: vehículo {unit}",
            what="El reclamo {ref} sobre el techo de {coach} está abierto de nuevo.",
            by="Le debemos una respuesta hasta el {answer}.",
            short="reclamo {ref} abierto de nuevo",
        ),
    },
    on=on,
    greeting="Estimado/a {name}:",
    fleet_greeting="A {name}:",
    several_subject="Novedades del techo del vehículo {unit}",
    digest_subject="{count} vehículos necesitan atención en su techo",
    digest_opening="Estos vehículos suyos tienen fechas próximas o novedades. La "
    "misma tabla va adjunta en archivos.",
    table_heads=("N.º de vehículo", "Vehículo", "Qué", "Hasta cuándo"),
    button="Ver este aviso",
    fleet_button="Ver sus vehículos",
    caution="Por favor no suba al techo a mirar: una caída puede matar, y techos "
    "blandos y escaleras ceden. Las normas locales van primero.",
    why_you="Recibe esto porque nuestros registros le nombran como titular.",
    law="Este mensaje no cambia ninguna condición: deciden el texto de su edición y la "
    "ley local.",
    stop_label="No más recordatorios, por favor",
    stop_note="Las novedades de un reclamo o de una garantía suspendida se envían de "
    "todos modos.",
    calendar_summary="Techo del vehículo {unit}: {short}",
    by_label="Hasta cuándo",
    otherwise_label="Qué pasa si no",
    none="—",
)
