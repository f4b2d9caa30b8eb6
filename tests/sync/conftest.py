from grown import bucket, postgres, s3_endpoint, server
from servers import job_id

__all__ = ["bucket", "job_id", "postgres", "s3_endpoint", "server"]
