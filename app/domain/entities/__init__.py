"""What an owner has and enters, each as one frozen class: batteries, tests, meters, places, events.

A `…Details` is what was entered; the class without it adds the number and the version in the
records. A field says what it is where it stands: `Annotated[type, Described(…)]` gives its title,
its sentence for the records, its range and unit (`app.domain.fields`). Columns, forms, the history
and archives follow from that, by the name of the field, which is also the name of its column.
"""
