"""From settings to a running server. README.md beside this file is for whoever runs one for others.

`application` wires routes and middleware; nothing else knows all of them. The framework takes long
to prepare the routes, so a process does it once and shares them. `run` opens port, data folder and
browser; it refuses to listen to others without a passphrase. `backup_scheduler` looks every quarter
of an hour whether a backup is due. `network_application` has shared links alone for others on the
network; `network_listener` opens it there in a thread of its own and watches when it has to close,
at one of `own_addresses`. `listening` binds ports and makes servers. `header_timeout` ends
connections that never finish asking.
"""
