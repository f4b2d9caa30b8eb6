from servers import server

__all__ = ["server"]
