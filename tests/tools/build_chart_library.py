"""Puts the chart library of the browser into static/, with its licence:
python -m tests.tools.build_chart_library

It takes npm's ordinary client, and the version of the library that the installed plotly package
carries, because that package judges in tests the figures that the library draws.
"""

import re
import shutil
import subprocess
import tarfile
import tempfile
from importlib.resources import files
from pathlib import Path

from app.settings import STATIC

# The part of the library that draws lines, bars and heat maps: a third of the whole.
PACKAGE = "plotly.js-cartesian-dist-min"
TAKEN = {
    "package/plotly-cartesian.min.js": STATIC / "chart-library.js",
    "package/LICENSE": STATIC / "chart-library.licence.txt",
}


def version_of(text: str) -> str:
    """The version that the head of the library names."""
    found = re.search(r"plotly\.js .*?v(\d+\.\d+\.\d+)", text[:500])
    if found is None:
        raise ValueError("no version of plotly.js in the first lines")
    return found[1]


def version_of_the_judge() -> str:
    """The version of the library inside the installed plotly package."""
    return version_of((files("plotly") / "package_data" / "plotly.min.js").read_text("utf-8"))


def main() -> None:
    npm = shutil.which("npm")
    if npm is None:
        raise SystemExit("npm is not installed")
    with tempfile.TemporaryDirectory() as folder:
        asked = f"{PACKAGE}@{version_of_the_judge()}"
        subprocess.run([npm, "pack", "--silent", asked], cwd=folder, check=True)
        (packed,) = Path(folder).glob("*.tgz")
        with tarfile.open(packed) as archive:
            for name, place in TAKEN.items():
                content = archive.extractfile(name)
                if content is None:
                    raise SystemExit(f"{name} is not a file in {packed.name}")
                place.write_bytes(content.read())
    print(asked)


if __name__ == "__main__":
    main()
