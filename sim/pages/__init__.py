"""Pages that open from disk without a server."""
