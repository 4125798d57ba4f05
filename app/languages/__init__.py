"""The languages of the pages, and who reads them.

English stands in code and templates. The catalogue app/languages/de.po has the German of every text
and is the one place for it, but for what the JSON interface says of itself in docstrings: that is
in interface.de.po, which is kept by hand. Templates mark texts by {% trans %}, code by say("…") and
N_("…"). `readers` joins preferences and catalogue to a `Reader`. The catalogue is compiled in
memory when a process first needs it, so no compiled one can be out of date. A sentence is stored as
a message (`app.domain.i18n.message_as_data`); one that was stored before that, or came in from an
archive, is read in English.

Who reads: the owner by the page Preferences; otherwise, and on every page that others see, whatever
the browser asks for (app/web/rendering/locale.py). Scripts get their words from data-say-…
attributes. A file to send is not translated.
"""
