"""What read-only links are in the records, column by column."""

from app.domain.marks import N_
from app.storage.common_columns import BATTERY_ID, COUNT, ID, WHOLE
from app.storage.described import Column, Table
from app.storage.text_rules import HASH, PARTS, TOKEN

SHARE = Table(
    N_("Read-only links"),
    N_("Read-only link"),
    "Links to a battery's results. The token is the secret part of the address.",
    {
        "id": ID,
        "battery_id": BATTERY_ID,
        "token": Column(
            N_("Token"),
            "",
            "The secret part of the link's address. Who has it sees the page.",
            TOKEN,
        ),
        "token_hash": Column(
            N_("Token's SHA-256"), "", "SHA-256 of the token, by which it is looked up.", HASH
        ),
        "label": Column(N_("For whom"), "", "What the owner wrote beside the link."),
        "discharge_id": Column(
            N_("Capacity test"), "", "The one test it shows; missing for the battery.", WHOLE
        ),
        "shows": Column(
            N_("Parts"),
            "",
            "Names of the parts that are shown, with commas between them.",
            PARTS,
        ),
        "views": Column(N_("Views"), "1", "How often it was opened.", COUNT),
        "viewed_at": Column(N_("Last viewed"), "", "When it was opened the last time, in UTC."),
        "created_at": Column(N_("Made"), "", "When it was made, in UTC."),
        "expires_at": Column(N_("Ends"), "", "When it ends, in UTC; missing where it does not."),
        "revoked_at": Column(N_("Revoked"), "", "When it was closed for good, in UTC."),
    },
    identity=("token_hash",),
    label="label",
    # How often a link was opened is counted by each copy for itself.
    uncompared=("views", "viewed_at"),
)
SHARE_BESIDE = Table(
    N_("Batteries beside"),
    N_("Battery beside"),
    "Further batteries that a link shows beside its own.",
    {
        "id": ID,
        "share_id": Column(N_("Link"), "", "Number of the link.", WHOLE),
        "battery_id": BATTERY_ID,
    },
    identity=("share_id", "battery_id"),
    label="",
)
