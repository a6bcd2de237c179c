"""Papers as tagged PDF: data go in as JSON, never as source of the typesetting language."""

import datetime as dt
import json

from django.conf import settings

from fleet.chart_picture import fonts

TEMPLATES = settings.BASE_DIR / "templates" / "papers"


def press(template: str, data: dict, day: dt.date) -> bytes:
    """Return the PDF/UA-1 paper that the template makes of the data, dated that day at noon.

    Raises typst.TypstError when the template and the data do not fit. Must not be called in a
    process that forks afterwards: the typesetter's threads would be missing in the child.
    """
    import typst  # Starts threads of its own: only where a paper is made.

    noon = dt.datetime.combine(day, dt.time(12), tzinfo=dt.UTC)
    return typst.compile(
        str(TEMPLATES / f"{template}.typ"),
        root=str(TEMPLATES),
        font_paths=[str(fonts())],
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
        pdf_standards=["ua-1"],
        timestamp=int(noon.timestamp()),
    )
