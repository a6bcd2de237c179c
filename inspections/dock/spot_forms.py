"""One spot on the dock form: what was found there, or that it was not seen and why."""

from collections.abc import Iterable

from django import forms

from ..criteria import Criteria, Sign
from ..judgement.history import NOT_SEEN
from ..verdicts import PartFacts
from .form_photos import FormPhotos

NOTHING = [("", "nothing found"), (NOT_SEEN, "not seen")]
CLEANED = [("", "not tried"), ("yes", "it came away"), ("no", "it stayed")]


class DecimalAsTyped(forms.FloatField):
    """A number typed on a phone, with a decimal point or comma."""

    widget = forms.TextInput

    def __init__(self, **kwargs) -> None:
        super().__init__(min_value=0, required=False, **kwargs)
        self.widget.attrs["inputmode"] = "decimal"

    def to_python(self, value: str | None) -> float | None:
        return super().to_python(value.replace(",", ".") if value else value)


class SpotForm(forms.Form):
    """What was found at one spot. Left as it is: seen, and nothing found."""

    sign = forms.ChoiceField(label="Found", required=False)
    measure = DecimalAsTyped(label="Measured")
    cleaned = forms.ChoiceField(label="When cleaned", choices=CLEANED, required=False)
    note = forms.CharField(label="Note, or why not seen", max_length=300, required=False)

    def __init__(
        self,
        *args,
        criteria: Criteria,
        signs: Iterable[Sign] = (),
        photos: FormPhotos | None = None,
        **kwargs,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.criteria, self.photos = criteria, photos
        self.fields["sign"].choices = NOTHING + grouped(signs)

    def clean(self) -> dict:
        given = super().clean()
        for fault in self.photos.faults if self.photos else ():
            self.add_error(None, fault)
        code, measure = given.get("sign"), given.get("measure")
        if not code and any(given.get(name) for name in ("measure", "cleaned", "note")):
            raise forms.ValidationError("Choose what was found here, or leave all of it blank.")
        if not code and self.photos and self.photos.kept:
            raise forms.ValidationError("Choose what was found here: a photo shows a finding.")
        if code == NOT_SEEN and not given.get("note"):
            raise forms.ValidationError("Say why it was not seen, e.g. boot not taken off.")
        sign = self.criteria.get(code)
        if measure is not None and sign and sign.measure is None:
            raise forms.ValidationError("This sign is not measured: put the number in the note.")
        return given

    def found(self) -> dict | None:
        """Return the facts of a ``recording.Sight``; None when nothing was found."""
        given = self.cleaned_data
        if not given["sign"]:
            return None
        cleaned = {"yes": True, "no": False}.get(given["cleaned"])
        return {
            "sign": given["sign"],
            "measure": given["measure"],
            "cleaned": cleaned,
            "note": given["note"],
        }


class FurtherForm(SpotForm):
    """A second sign at a spot, or something at a place that is no part: tang, spreader, event."""

    where = forms.ChoiceField(label="Where", required=False)
    side = forms.ChoiceField(
        label="Side",
        required=False,
        choices=[("", "centre or both"), ("port", "port"), ("starboard", "starboard")],
    )
    field_order = ("where", "side", "sign", "measure", "cleaned", "note")

    def __init__(self, *args, places: list[tuple[str, str]], **kwargs) -> None:
        super().__init__(*args, signs=kwargs["criteria"].signs, **kwargs)
        self.fields["where"].choices = [("", "nothing further"), *places]
        self.fields["sign"].choices = [("", "choose"), *grouped(self.criteria.signs)]

    def clean(self) -> dict:
        given = super().clean()
        where, code = given.get("where", ""), given.get("sign", "")
        if bool(where) != bool(code):
            raise forms.ValidationError("Give both: where, and what was found there.")
        if code:
            self._check_belongs(self.criteria.sign(code), where)
        return given

    def _check_belongs(self, sign: Sign, where: str) -> None:
        """Refuse a sign of a tang at a wire: it would be judged by the wrong rule."""
        names = where.split(":")
        if names[0] == "part":
            _, _, kind, spot = names
            fits = kind in sign.kinds and (not sign.spots or spot in sign.spots)
        else:
            fits = names[1] in sign.places
        if not fits:
            raise forms.ValidationError(f"“{sign.label}” is not looked for there ({sign.where}).")


def grouped(signs: Iterable[Sign]) -> list[tuple[str, list[tuple[str, str]]]]:
    """Return the choices of a select: the signs by where they are found, as in the criteria."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for sign in signs:
        unit = f" ({sign.measure.unit})" if sign.measure else ""
        groups.setdefault(sign.where, []).append((sign.code, sign.label + unit))
    return list(groups.items())


def signs_at(facts: PartFacts, spot: str, criteria: Criteria) -> tuple[Sign, ...]:
    """Return the signs to look for at one spot of a part."""
    terminals = [each for each in facts.terminals_at(spot) if each]
    return criteria.for_part(facts.kind, facts.construction, terminals, spot)
