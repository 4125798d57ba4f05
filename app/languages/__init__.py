"""The languages of the pages, and who reads them.

English stands in code and templates. The catalogue app/languages/de.po has the German of every text
and is the one place for it. Templates mark texts by {% trans %}, code by say("…") and N_("…").
`readers` joins preferences and catalogue to a `Reader`. A sentence that was stored as English text
(what was assumed of a file) stands in `kept_sentences` too; `said_again` recognises it and makes a
message of it.

Who reads: the owner by the page Preferences; otherwise, and on every page that others see, whatever
the browser asks for (app/web/rendering/locale.py). Scripts get their words from data-say-…
attributes. A file to send is not translated.
"""
