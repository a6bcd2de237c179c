"""What every file says of itself: whose it is, of which day, and what its numbers rest on."""

from fleet.models import Fleet
from fleet.templatetags.wording import day

from .. import reads
from ..models import ModelRun

CAUTION = (
    "A forecast never clears a part: it says where to look, a rigger says what stays up. "
    "Insurers, flag state and class rules come before any date here."
)
WORK = (
    "Going aloft and unstepping injure people: a qualified rigger, two independent lines, local "
    "rules. Nobody goes aloft on a condemned or shocked rig until it is shored with halyards.",
    "Never slacken a stay without a stand-in; release hydraulics first. Mind power lines; nobody "
    "under the hook. Cut broken wires through a rag, gloves on.",
)
NO_MODEL = "No forecast has been made yet: what stands here is the record alone."
SHORT = 12  # Hex digits of a fingerprint: enough to find the run again.


def masthead(fleet: Fleet, title: str, answer: str) -> dict:
    """Return title, answer, fleet, day, currency, models and caution as words for a paper."""
    standing, models = rests_on(fleet)
    return {
        "title": title,
        "answer": answer,
        "fleet": fleet.name,
        "as_of": day(fleet.today()),
        "currency": fleet.currency,
        "standing": standing,
        "models": models,
        "caution": CAUTION,
    }


def rests_on(fleet: Fleet) -> tuple[str, str]:
    """Return in words what the forecast of wires rests on, and every model in force by name."""
    runs = {kind: found["in_force"] for kind, found in reads.runs(fleet).items()}
    named = [
        f"{kind} {run.fingerprint[:SHORT]} ({run.get_state_display()}, to {day(run.as_of)})"
        for kind, run in runs.items()
        if run
    ]
    if not named:
        return NO_MODEL, ""
    return standing(runs["wire"]), f"Models: {'; '.join(named)}."


def standing(run: ModelRun | None) -> str:
    if run is None:
        return "No model of wires is in force."
    if run.state == ModelRun.State.RULE_OF_THUMB:
        return (
            "Rule of thumb, this fleet's boats so far: too little was condemned for more, so the "
            "numbers rest on common practice and on what was seen good."
        )
    own = (
        f"From {run.deaths:.0f} times that an end or a run of wire was condemned in this fleet, "
        f"to {day(run.as_of)}"
    )
    together = run.state == ModelRun.State.POSTERIOR
    return own + (", weighed together with common practice." if together else ".")
