from pourplan.celery import app as celery_app

# Imported with the settings, so that tasks started from a web process go to our broker.
__all__ = ["celery_app"]
