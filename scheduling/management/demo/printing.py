"""The week, one pour and the morning texts as a person wants to read them in a terminal."""

from datetime import date, datetime, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from rich.console import Console
from rich.table import Table
from rich.text import Text

from scheduling.bridge import from_json, to_json
from scheduling.engine.comparison import Choice
from scheduling.engine.dayplan import PourPlan
from scheduling.engine.inputs import Severity
from scheduling.engine.placement import Stage
from scheduling.management.demo.company import PASSWORD, PEOPLE, ZONE
from scheduling.management.demo.daylines import day_lines
from scheduling.models import Pour, User
from scheduling.quantities import Dimension, UnitSystem, format_quantity
from scheduling.queries.clashes import PourClash
from scheduling.queries.week import DayColumn, week_view
from scheduling.roles import Role
from scheduling.sentences import say
from scheduling.sentences.arrivals import Arrivals
from scheduling.services import morning
from scheduling.texting.segments import segments

UNITS = UnitSystem.US
GOVERN = "Local codes and the engineer's specification govern.\n"
console = Console()


def print_week(monday: date) -> None:
    """Crews down, days across, clashes below."""
    view = week_view(User.objects.get(username="dispatch"), monday)
    working = [day for day in view.days if any(pour_on(row.days, day) for row in view.rows)]
    table = Table(title=f"Week of {monday:%A %d %B %Y}", show_lines=True)
    table.add_column("Crew", style="bold")
    for day in working:
        table.add_column(f"{day:%a %d %b}")
    for row in view.rows:
        cells = (pour_on(row.days, day) for day in working)
        table.add_row(row.crew.name if row.crew else "no crew", *("\n\n".join(map(brief, c)) for c in cells))
    console.print(table)
    for clash in view.clashes:
        console.print(Text("CLASH ", style="bold red") + Text(clash_words(clash)))
    console.print()


def pour_on(days: tuple[DayColumn, ...], day: date) -> tuple[Pour, ...]:
    return next(column.pours for column in days if column.on == day)


def brief(pour: Pour) -> str:
    """A pour in the week: when, where, how much."""
    zone = site_zone(pour)
    if pour.plan is None:
        return f"{clock(pour.starts_at, zone)} {pour}"
    cut = next((phase for phase in pour.plan.phases.all() if phase.kind == "cut"), None)
    sawn = f"cut {clock(cut.starts_at, zone)}" if cut else "no cuts"
    return f"{clock(pour.starts_at, zone)} {pour.job.name}\n{pour.title}\n{yards(pour.plan.order_m3)}, {sawn}"


def clash_words(clash: PourClash) -> str:
    span = f"{clash.starts_at.astimezone(ZONE):%a %H:%M}-{clash.ends_at.astimezone(ZONE):%H:%M}"
    pours = " and ".join(str(pour) for pour in clash.pours)
    what = "slabs at once" if clash.code == "two_placings" else f"people, has {clash.available}"
    cure = (
        f"; free if the later starts {clash.free_start_at.astimezone(ZONE):%a %H:%M}"
        if clash.free_start_at
        else ""
    )
    said = " (accepted)" if clash.accepted else ""
    return f"{span}  {clash.crew}: {clash.needed} {what}: {pours}{cure}{said}"


def print_plan(pour: Pour) -> None:
    """One pour, from its slab to its last cut."""
    assert pour.plan is not None
    plan, zone = from_json(pour.plan.result, PourPlan), site_zone(pour)
    console.rule(f"[bold]{pour}[/] · {pour.starts_at.astimezone(zone):%A %d %B}, crew {pour.crew}")
    for label, words in summary(pour, plan, zone):
        console.print(Text(f"{label:<12}", style="bold") + Text(words))
    console.print(trucks(plan, zone), choices(plan), weather(plan, zone), sep="\n")
    print_day(plan, zone)
    for finding in plan.findings:
        words = say(finding.code, finding.facts, UNITS, zone)
        console.print(
            Text(f"{finding.severity.value.upper():<8}", style="bold") + Text(words), soft_wrap=False
        )
    console.print(GOVERN, style="italic")


def print_story(pour: Pour) -> None:
    """A pour's day in lines, and what its weather and all else warn of."""
    assert pour.plan is not None
    plan, zone = from_json(pour.plan.result, PourPlan), site_zone(pour)
    console.rule(f"{pour} · {pour.starts_at.astimezone(zone):%A %d %B}")
    print_day(plan, zone)
    for finding in plan.findings:
        if finding.severity is not Severity.NOTE:
            console.print(Text(say(finding.code, finding.facts, UNITS, zone)))
    console.print(GOVERN, style="italic")


def print_day(plan: PourPlan, zone: ZoneInfo) -> None:
    for words in day_lines(plan, zone, UNITS):
        console.print(Text(words), soft_wrap=True)
    console.print()


def summary(pour: Pour, plan: PourPlan, zone: ZoneInfo) -> list[tuple[str, str]]:
    """The lines a person looks for first."""
    asked = Arrivals(loads=len(plan.delivery.loads), **to_json(plan.arrivals.sayable))
    return [
        ("Order", order_words(pour, plan, zone)),
        ("Trucks", truck_words(asked, plan, zone)),
        ("Expect", risk_words(plan)),
        ("On site", f"{clock(plan.call_at, zone)}; placing until {clock(plan.placed_at, zone)}"),
        ("Line", line_words(plan)),
        ("Trowel", trowel_words(plan, zone)),
        ("Cut", cut_words(plan, zone)),
    ]


def order_words(pour: Pour, plan: PourPlan, zone: ZoneInfo) -> str:
    order = pour.orders.latest("revision")
    ordered, net = yards(plan.quantity.order_m3), yards(plan.quantity.net_m3)
    return (
        f"{ordered} of {order.mix.code} from {order.plant} ({net} net), by {day_clock(order.order_by, zone)}"
    )


def truck_words(asked: Arrivals, plan: PourPlan, zone: ZoneInfo) -> str:
    sizes = ", ".join(yards(load.m3) for load in plan.delivery.loads)
    return f"{sizes}; {asked.short(clock(plan.starts_at, zone))}"


def risk_words(plan: PourPlan) -> str:
    """What to expect of the trucks, on average and at worst."""
    risk, enough = plan.arrivals.risk, plan.arrivals.fleet.enough
    fees = f"; the plant charges ${risk.wait_fees_mean:,.0f} for that" if round(risk.wait_fees_mean) else ""
    return (
        f"a truck waits {risk.truck_wait_mean_min:.0f} min, "
        f"the crew {risk.crew_wait_mean_min:.0f} min in all; "
        f"a load too old {chance_words(risk.any_dead_chance)}, a cold joint "
        f"{chance_words(risk.cold_joint_chance)}; {enough} truck{'' if enough == 1 else 's'} keep"
        f"{'s' if enough == 1 else ''} the crew fed{fees}"
    )


def chance_words(share: float) -> str:
    return "under 1%" if share < 0.01 else f"{share:.0%}"


def line_words(plan: PourPlan) -> str:
    teams = (
        f"{team.people} {' + '.join(stage_words(stage) for stage in team.stages)}" for team in plan.line.teams
    )
    rate = format_quantity(plan.line.rate_m3_h, Dimension.VOLUME_RATE, UNITS)
    return f"{', '.join(teams)}: {rate}, {stage_words(plan.line.limited_by)} sets the pace"


def stage_words(stage: Stage) -> str:
    return stage.value.replace("_", " ")


def trowel_words(plan: PourPlan, zone: ZoneInfo) -> str:
    ready, final = plan.first_set.float_ready, plan.last_set.final
    span = f"{clock(ready.early, zone)} to {clock(ready.late, zone)}"
    hard = f"the last sets hard about {clock(final.likely, zone)}"
    return f"first strip about {clock(ready.likely, zone)} ({span}); {hard}"


def cut_words(plan: PourPlan, zone: ZoneInfo) -> str:
    saw = plan.sawing
    if not saw.length_m:
        return "no joints to cut"
    length = format_quantity(saw.length_m, Dimension.LENGTH, UNITS)
    depth = format_quantity(saw.depth_m, Dimension.DEPTH, UNITS)
    span = f"from {day_clock(saw.opens_at, zone)}, last call {day_clock(saw.last_call_at, zone)}"
    return f"{length}, {depth} deep, {span}"


def trucks(plan: PourPlan, zone: ZoneInfo) -> Table:
    table = Table(
        "Load",
        "Size",
        "Batch",
        "Leave",
        "On site",
        "Start",
        "Empty",
        "Age",
        title="Trucks, if all goes as asked",
        title_justify="left",
    )
    for load in plan.delivery.loads:
        moments = (load.batch_at, load.leaves_at, load.arrives_at, load.starts_at, load.ends_at)
        table.add_row(
            str(load.number), yards(load.m3), *(clock(m, zone) for m in moments), f"{load.age_min:.0f} min"
        )
    return table


def choices(plan: PourPlan) -> Table:
    """Hours, pace and trucks of every method that reaches, by how many people place."""
    people = sorted({choice.people for choice in plan.choices})
    title = "By another way or with other people"
    table = Table("", *(f"{count} people" for count in people), title=title, title_justify="left")
    for method, row in groupby(plan.choices, key=lambda choice: choice.method):
        cells = [choice_words(choice) for choice in row if choice.within_reach]
        if cells:
            table.add_row(method.value.replace("_", " "), *cells)
    return table


def choice_words(choice: Choice) -> str:
    rate = format_quantity(choice.rate_m3_h, Dimension.VOLUME_RATE, UNITS)
    return f"{choice.hours:.1f} h\n{rate}\n{choice.trucks} truck{'' if choice.trucks == 1 else 's'}"


def weather(plan: PourPlan, zone: ZoneInfo) -> Table:
    table = Table(
        "",
        "Air",
        "Humidity",
        "Wind at slab",
        "Concrete",
        "Drying",
        title="Through the day",
        title_justify="left",
    )
    for hour in plan.weather:
        table.add_row(
            clock(hour.at, zone),
            known(hour.air_c, Dimension.TEMPERATURE),
            "?" if hour.humidity is None else f"{hour.humidity:.0%}",
            known(hour.wind_m_s, Dimension.SPEED),
            known(hour.concrete_c, Dimension.TEMPERATURE),
            known(hour.rate_kg_m2_h, Dimension.EVAPORATION),
        )
    return table


def print_morning_texts(monday: date) -> None:
    """What each lead gets, day by day, with how many text messages it takes."""
    console.rule("[bold]Morning texts")
    leads = User.objects.filter(role=Role.CREW_LEAD.value).order_by("crew_led__name")
    for day in (monday + timedelta(days=n) for n in range(7)):
        for lead in leads:
            body = morning.compose(lead=lead, day=day)
            if body:
                parts = segments(body)
                takes = "1 message" if parts == 1 else f"{parts} messages"
                console.print(f"{day:%A} to {lead} ({takes})", style="bold")
                console.print(Text(body), width=60)
                console.print()


def print_doors(url: str) -> None:
    """Where the pages and the API are, and how to sign in as each role."""
    console.rule("[bold]Serving until Ctrl-C")
    console.print(f"Pages   {url}/\nAPI     {url}/api/v1/\nSchema  {url}/api/schema/\n")
    for username, first, last, role, *_ in PEOPLE:
        console.print(f"{role.value.replace('_', ' '):<11} {username:<10} {PASSWORD}   {first} {last}")


def site_zone(pour: Pour) -> ZoneInfo:
    return ZoneInfo(pour.job.site.time_zone)


def clock(moment: datetime, zone: ZoneInfo) -> str:
    return f"{moment.astimezone(zone):%H:%M}"


def day_clock(moment: datetime, zone: ZoneInfo) -> str:
    return f"{moment.astimezone(zone):%a %H:%M}"


def yards(m3: float) -> str:
    return format_quantity(m3, Dimension.VOLUME, UNITS)


def known(value: float | None, dimension: Dimension) -> str:
    return "?" if value is None else format_quantity(value, dimension, UNITS)
