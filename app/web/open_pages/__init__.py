"""What strangers may open: shared links with their data, and the help.

Whatever stands here is served twice: among the owner's pages, and alone on the network
(app/server/network_application.py). A page here leads to pages here and nowhere else.
"""
