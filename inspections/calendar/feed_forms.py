"""Whose calendar an address is made for."""

from django import forms

from fleet.models import Base, Boat, Fleet


class FeedForm(forms.Form):
    """A calendar of one's own, of all boats or a base; or of one boat, to hand to its owner."""

    base = forms.ModelChoiceField(
        label="My calendar, of", queryset=Base.objects.none(), required=False,
        empty_label="all boats of the fleet",
    )  # fmt: skip
    boat = forms.ModelChoiceField(
        label="Or of one boat, for its owner or skipper", queryset=Boat.objects.none(),
        required=False, empty_label="no",
        help_text="Whoever has the address reads what is due on that boat, without signing in.",
    )  # fmt: skip

    def __init__(self, fleet: Fleet, writes: bool, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["base"].queryset = fleet.bases.all()
        self.fields["boat"].queryset = Boat.objects.of(fleet).standing(fleet.today())
        if not writes:
            del self.fields["boat"]

    def clean(self) -> dict:
        given = super().clean()
        if given.get("boat") and given.get("base"):
            raise forms.ValidationError("A base or a boat, not both: make two addresses.")
        return given

    def whose(self, user) -> dict:
        """Return the arguments of ``feeds.make``."""
        boat = self.cleaned_data.get("boat")
        whose = {"boat": boat} if boat else {"user": user, "base": self.cleaned_data["base"]}
        return whose | {"by": user}
