from access_kit import Van, van
from grown import bucket, postgres, s3_endpoint
from servers import job_id, server

__all__ = ["Van", "bucket", "job_id", "postgres", "s3_endpoint", "server", "van"]
