"""The hospital's archive: what the hubs of all units have recorded, in one PostgreSQL database.

A feeder reads a hub's record as anybody may, beside the hub, and copies what is new; no hub knows of it, and none
waits for it. Start at `feeding`, then `bringing`. What cannot be read or written raises
`shared.errors.RecordError`; an archive that is away raises `connecting.Away`, and is tried again.
"""
