"""Random words that open something: of each only its hash is kept and looked up."""

import hashlib


def hash_token(secret: str) -> str:
    """SHA-256 as 64 hexadecimal digits. Long random words need neither salt nor a slow hash.

    What comes from outside may hold letters that cannot be written; it is no secret of ours then.
    """
    return hashlib.sha256(secret.encode(errors="replace")).hexdigest()
