"""Fadeline: capacity tests of house batteries, what they prove, and how the battery fades.

The packages are layers, and imports run downwards only: web and cli, then services, then storage,
archive, ingest and analysis, then domain at the bottom. charts and languages stand between web and
what they draw and read. server wires all of it. tests/test_imports.py holds the arrows. The first
chapter of DEVELOPERS.md has the picture. An `__init__.py` holds its chapter of the guide, no code.

Libraries: pyproject.toml has the reason of each. The lower bounds are those that .ci/run tests the
pages with; an upper bound excludes a major version that is known to change what is used here. Their
licences:
- MIT: alembic, argon2-cffi, fastapi, ifaddr, platformdirs, python-calamine, sqlalchemy, sqlmodel,
  typer; in static/ the cartesian part of Plotly.js.
- BSD: babel, jinja2, numpy, scipy, segno, starlette, uvicorn. MIT-CMU: pillow. Apache 2.0:
  python-multipart. LGPL 3: psycopg, only with the extra postgresql.
- For development only. MIT: axe-playwright-python (carries axe-core, MPL 2.0), beautifulsoup4,
  cssbeautifier and jsbeautifier (with EditorConfig, PSF 2.0), mypy, openpyxl, plotly (brings
  narwhals, MIT, and packaging, Apache 2.0 or BSD), pytest, pytest-cov (carries coverage, Apache
  2.0), pytest-xdist, ruff, schemathesis, tinyhtml5. BSD: httpx2, icalendar, pypdf. Apache 2.0:
  playwright. MPL 2.0: hypothesis.
"""
