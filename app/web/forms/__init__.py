"""Forms: values to details and back.

`form_reader` looks at every field and tells all problems at once; nothing typed is lost. A field is
a macro of templates/_partials/form.html; a control that is written by hand takes its marks and
stands before its problem_of: tests/web/test_problems.py follows every link from a list of problems
to its field. What a field asks for stands in its label or hint, never in a placeholder, which large
letters cut and typing removes.

`typed_units` says in which unit a form shows and takes temperatures. Values from the store are in
°C; `page` puts them into the reader's unit, and the form says which that is (`degrees`) when it is
sent. Values with that mark were typed and are never converted again.

`previous_values` proposes what was chosen the last time, and the page says so while it stands. What
decides a claim by itself, such as why a test ended, is never proposed. `csrf` puts a token into
every form that posts when the template is loaded; a script that posts sends the whole form.
"""
