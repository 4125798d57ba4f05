"""Ways to spoil one entry of an archive."""

import json

BATTERY = "tables/battery.csv"


def replaced(path, old, new):
    def spoil(entries):
        assert old in entries[path], (old, entries[path])
        entries[path] = entries[path].replace(old, new, 1)

    return spoil


def removed(prefix):
    def spoil(entries):
        for path in [one for one in entries if one.startswith(prefix)]:
            del entries[path]

    return spoil


def added(path, data=b""):
    return lambda entries: entries.update({path: data})


def appended(path, data):
    def spoil(entries):
        entries[path] += data

    return spoil


def packaged(**changes):
    def spoil(entries):
        package = json.loads(entries["datapackage.json"])
        entries["datapackage.json"] = json.dumps(package | changes).encode()

    return spoil


def one_more(data, cells):
    """A file of readings with one more row of the test that is the last in it."""
    test = data.splitlines()[-1].split(b",")[0]
    return data + test + b"," + cells + b"\r\n"


def first(prefix, change):
    """Change the first entry whose path begins so."""

    def spoil(entries):
        path = next(
            one for one in sorted(entries) if one.startswith(prefix) and "schema" not in one
        )
        entries[path] = change(entries[path])

    return spoil
