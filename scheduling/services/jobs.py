"""Take on a job, at a site known or new."""

from django.core.exceptions import ValidationError
from django.db import transaction

from scheduling.errors import NotAllowed, Refusal
from scheduling.models import Job, User
from scheduling.roles import Right


@transaction.atomic
def open_job(*, job: Job, by: User) -> Job:
    """Keep a new job, and its site if that is not kept yet.

    Raises
    ------
    Refusal
        If something in the job or its site cannot be kept.
    """
    if not by.may(Right.BOOK):
        raise NotAllowed("Your role does not include this.", code="not_allowed")
    try:
        if job.site.pk is None:
            job.site.full_clean()
            job.site.save()
            job.site = job.site  # so that the job learns the key its site has now
        job.full_clean()
    except ValidationError as wrong:
        field, said = next(iter(wrong.message_dict.items()))
        raise Refusal(said[0], code="invalid", field=field) from wrong
    job.save()
    return job
