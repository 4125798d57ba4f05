"""Tables, engine, repositories and backups of the records.

Rows never leave this package: repositories return domain objects. Table classes validate nothing,
so services check values before they get here. A new column or table changes `schema.tables`, gets
its description in a `*_columns` module of schema, and a migration. DEVELOPERS.md has the steps.
"""
