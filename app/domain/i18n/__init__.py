"""Sentences as data, and who reads them.

Code that computes or stores knows no reader. It makes a `Message` by say("{years:.1f} years here",
years=…): a text of the catalogue with its values. As a string a message is English with the usual
numbers, so files, JSON, the command line and the records are English by themselves. A `Reader` puts
it into a language, with the reader's numbers, dates and temperatures.

Rules: Write whole sentences, never endings or halves of sentences, with a form for one and a form
for many. Keep numbers, days, temperatures (`Celsius`) and other messages as values. Use `joined` to
put messages together and `transformed` to change what is written; an f-string or "".join leaves a
plain English string that no reader can put into another language. Mark a constant where it stands
and say it where it is shown."""
