"""Tables, migrations and queries."""
