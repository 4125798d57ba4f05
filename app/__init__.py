"""Fadeline: capacity tests of house batteries, what they prove, and how the battery fades.

The packages are layers, and imports run downwards only: web and cli, then services, then storage,
archive, ingest and analysis, then domain at the bottom. charts and languages stand between web and
what they draw and read. server wires all of it. tests/test_imports.py holds the arrows. The first
chapter of DEVELOPERS.md has the picture. An `__init__.py` holds its chapter of the guide, no code.
"""
