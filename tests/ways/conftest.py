from sync_phones import kit, relay

__all__ = ["kit", "relay"]
