"""What the program keeps around the records: backups, versions, archives and files to send.

`sent_battery` names, field by field, what goes out in a file to send; `revision` is what an edit
replaced; `table_schema` describes a table as plain data; `retention` says which backups are kept.
"""
