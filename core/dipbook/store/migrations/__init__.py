"""Changes of the schema, one file each in versions/, oldest first."""
