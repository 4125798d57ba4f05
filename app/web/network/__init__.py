"""The owner's pages of the network: what is opened to the devices beside this one.

The state of the application has two listeners. `network` opens an application of its own, with
shared links alone (app/server/network_application.py). `owners_network` opens the whole application
as `--host` would: whoever is not at the machine signs in. The demo and the example have no owner,
and so no such door.
"""
