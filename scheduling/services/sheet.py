"""What a pour's clipboard sheet says in the few words of a text: cautions, what to load, the weather."""

from dataclasses import dataclass

from scheduling.models import Company, Pour
from scheduling.services import briefing
from scheduling.texting.cautions import warnings
from scheduling.texting.wording import load_line, weather_line


@dataclass(frozen=True)
class SheetWords:
    """`cautions` are gravest first, what stops the pour before all; `weather` is empty where not known."""

    cautions: tuple[str, ...]
    load: str
    weather: str


def sheet_words(*, pour: Pour) -> SheetWords:
    """The words of the pour as it is planned now."""
    facts = briefing.pour_facts(pour, Company.objects.get())
    return SheetWords(
        cautions=tuple(warnings(facts.cautions, facts.starts_at)),
        load=load_line([facts]),
        weather=weather_line([facts.weather]) if facts.weather else "",
    )
