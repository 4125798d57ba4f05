"""Who gets in, links for others, and the preferences of the owner.

`auth` keeps the passphrase (Argon2id) and the sign-ins; both lie in the table of settings and
belong to the machine, so they stay out of exports, and a restored backup leaves them as they are.
`joining` lets phones join a running test by a code of 128 random bits, which one phone uses once.
`shares` makes read-only links of 192 random bits. Of every secret only the hash is kept and
compared.
"""
