"""Photos on paper: each finding's own beside the last ones of the same place, as SVG."""

import base64

from fleet.templatetags.wording import day
from inspections.criteria import Criteria
from inspections.models import Inspection, Photo
from inspections.photos.files import LARGE, SMALL, path_of
from inspections.photos.shown import photos_of

WRAPPED = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}">'
    '<image width="{width}" height="{height}" href="data:image/jpeg;base64,{content}"/></svg>'
)


def photo_rows(look: Inspection, criteria: Criteria) -> list[dict]:
    """Return for each photographed finding its pictures, and the last of the place, smaller."""
    return [
        {
            "where": row.where,
            "sign": row.sign,
            "now": [picture(photo, LARGE, row.where) for photo in row.now],
            "on": day(look.on),
            "before": [picture(photo, SMALL, row.where) for photo in row.before],
            "before_on": day(row.before_on) if row.before_on else "",
        }
        for row in photos_of(look, criteria)
    ]


def picture(photo: Photo, size: str, where: str) -> dict[str, str]:
    """Return the picture for the typesetter; blank where its file is not on this machine."""
    path = path_of(photo.fleet_id, photo.pk, size)
    words = f"{where}, photo of {day(photo.taken_on)}"
    if not path.exists():
        return {"svg": "", "alt": words}
    content = base64.b64encode(path.read_bytes()).decode()
    return {
        "svg": WRAPPED.format(width=photo.width, height=photo.height, content=content),
        "alt": words,
    }
