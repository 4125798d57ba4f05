"""Judge what pip-audit wrote: python3 .ci/judge_audit.py FILE

Fails for a known weakness. Packages whose advisories could not be asked for are named: no answer is
no clean bill, and no reason to stop a build that has no way to the advisory service either.
"""

import json
import sys
from pathlib import Path


def judged(text: str) -> tuple[int, list[str]]:
    """The exit code, and what is to be said."""
    try:
        packages = json.loads(text)["dependencies"]
    except (ValueError, KeyError, TypeError):
        packages = []
    asked = [one for one in packages if "skip_reason" not in one]
    weak = [
        f"{one['name']} {one['version']}: {found['id']}, mended in "
        f"{', '.join(found['fix_versions']) or 'no version yet'}"
        for one in asked
        for found in one["vulns"]
    ]
    if not asked:
        return 0, ["NOT AUDITED: from here no advisory could be reached. Run it where one can."]
    said = [f"Asked for the advisories of {len(asked)} packages: {len(weak)} known weaknesses."]
    left_out = [one["name"] for one in packages if one not in asked]
    if left_out:
        said.append(f"NOT AUDITED: {', '.join(left_out)}")
    return int(bool(weak)), weak + said


if __name__ == "__main__":
    file = Path(sys.argv[1])
    code, lines = judged(file.read_text() if file.is_file() else "")
    print("\n".join(lines))
    sys.exit(code)
