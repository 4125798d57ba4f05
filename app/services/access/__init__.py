"""Who gets in, links for others, and the preferences of the owner.

`auth` keeps the passphrase (Argon2id) and the sign-ins; both lie in the table of settings and
belong to the machine, so they stay out of exports, and a restored backup leaves them as they are.
`shares` makes read-only links of 192 random bits. Of every secret only the hash is kept and
compared.
"""
