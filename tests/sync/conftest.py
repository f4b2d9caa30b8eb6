from servers import job_id, server

__all__ = ["job_id", "server"]
