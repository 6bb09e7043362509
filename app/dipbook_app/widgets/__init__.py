"""What pages share: small widgets that only show, each with a read-out for tests."""
