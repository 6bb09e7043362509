"""Files in and out: times, tables, readings, entries. Nothing here touches the store or reads a clock."""
