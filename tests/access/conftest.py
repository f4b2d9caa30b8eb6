from access_kit import Van, van
from servers import job_id, server

__all__ = ["Van", "job_id", "server", "van"]
