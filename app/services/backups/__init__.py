"""Backups of the data file: make, keep, check and go back.

`backup_places` knows the folders, `domain.records.retention` what is kept, `backups` when one is
due. No older file is updated to a new schema without a backup. `restoring` brings a copy of the
backup up to date and writes it over the data file inside one transaction, alone on it. A file that
is still being copied tells other processes that a backup is under way. `OF_THIS_MACHINE` in
`backups` names what belongs to a machine and stays out of exports.

The folders of the demo, the example and a restore go with their process. Those of a killed process
are removed by the next start (`temporary_folder`): a lock, not a process number, tells whether
somebody still uses them. A PostgreSQL database is backed up by its keeper (app/server/README.md).
"""
