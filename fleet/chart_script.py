"""The script that draws charts: Vega, bundled once at set-up into a folder git does not keep."""

import hashlib
from importlib.metadata import version
from pathlib import Path

FOLDER = Path(__file__).parent / "static" / "generated"
SNIPPET = "window.vegaEmbed=vegaEmbed;"


def ensure() -> Path:
    """Write ``generated/vega.js`` unless this version of it is there. Takes about two seconds.

    Must not run in a process that forks afterwards: the bundler's engine would hang in the child.
    """
    stamp = hashlib.sha256(f"{version('vl-convert-python')} {SNIPPET}".encode()).hexdigest()
    script, mark = FOLDER / "vega.js", FOLDER / "vega.stamp"
    if script.exists() and mark.exists() and mark.read_text() == stamp:
        return script
    import vl_convert  # Slow to load, and starts threads of its own.

    FOLDER.mkdir(parents=True, exist_ok=True)
    partial = script.with_suffix(".partial")
    partial.write_text(vl_convert.javascript_bundle(SNIPPET))
    partial.replace(script)
    mark.write_text(stamp)
    return script
