"""Who is in a crew, by name."""

from scheduling.models import Crew


def crew_names(crew: Crew | None) -> list[str]:
    """The names of a crew's lead and people, the lead first; empty where nobody of it is known."""
    if crew is None:
        return []
    workers = crew.workers.filter(active=True).order_by("name", "id")
    lead = str(crew.lead) if crew.lead else ""
    names = [
        lead,
        *(worker.name for worker in workers if worker.user_id is None or worker.user_id != crew.lead_id),
    ]
    return list(dict.fromkeys(name for name in names if name))


def named(said: str, names: list[str]) -> str | None:
    """The one of these names that is meant: said in full, or a first name that only one of them has."""
    wanted = " ".join(said.split()).casefold()
    whole = [name for name in names if name.casefold() == wanted]
    meant = whole or [name for name in names if name.casefold().split()[0] == wanted]
    return meant[0] if len(meant) == 1 else None
