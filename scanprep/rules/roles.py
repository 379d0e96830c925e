"""Rows of roles: whose word each thing is."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import CONSERVATOR, ENGINEER, SHOP, rule

_WHOSE = "common practice"


@dataclass(frozen=True, slots=True)
class RoleRules:
    """Roles that may say something on record; a case changes them under `[may]`, where it names its people."""

    contacts: tuple[str, ...] = rule(("conservator",), "", _WHOSE, CONSERVATOR,
                                     "who agrees to what touches an object", book_only=True)
    angle: tuple[str, ...] = rule(("curator",), "", _WHOSE, SHOP, "who agrees to how an object is shown",
                                  book_only=True)
    place: tuple[str, ...] = rule(("curator", "designer"), "", _WHOSE, SHOP, "who agrees to where an object stands",
                                  book_only=True)
    fit: tuple[str, ...] = rule(("mountmaker",), "", _WHOSE, SHOP, "who agrees that a finished mount fits",
                                book_only=True)
    drilling: tuple[str, ...] = rule(("driller", "checker"), "", _WHOSE, ENGINEER, "who says that a hole is drilled",
                                     book_only=True)
    installed: tuple[str, ...] = rule(("installer",), "", _WHOSE, SHOP, "who says that an object hangs",
                                      book_only=True)
    retouched: tuple[str, ...] = rule(("mountmaker",), "", _WHOSE, SHOP, "who says that a mount is painted again",
                                      book_only=True)
    no_touch: tuple[str, ...] = rule(("conservator",), "", _WHOSE, CONSERVATOR,
                                     "who marks where nothing may touch an object", book_only=True)
    pad: tuple[str, ...] = rule(("conservator",), "", _WHOSE, CONSERVATOR, "who names the pad for an object",
                                book_only=True)
    way_up: tuple[str, ...] = rule(("curator", "conservator"), "", _WHOSE, SHOP,
                                   "who says which way is up and which side is the front", book_only=True)
    stand_off: tuple[str, ...] = rule(("designer", "mountmaker"), "", _WHOSE, SHOP,
                                      "who says how far an object stands off its panel", book_only=True)
    sign_off: tuple[str, ...] = rule(("curator", "mountmaker"), "", _WHOSE, SHOP, "who signs a case off",
                                     book_only=True)
    withdraw: tuple[str, ...] = rule(("curator", "conservator", "registrar"), "", _WHOSE, CONSERVATOR,
                                     "who withdraws an object", book_only=True)
    remove: tuple[str, ...] = rule(("conservator", "installer", "registrar"), "", _WHOSE, CONSERVATOR,
                                   "who says that an object was taken down", book_only=True)
