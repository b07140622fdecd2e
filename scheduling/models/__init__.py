"""What is kept. Each topic has a module; all of them are reached from here."""

from scheduling.models.absences import Absence, RoadSeason
from scheduling.models.calendars import CalendarLink
from scheduling.models.company import Company, Units
from scheduling.models.crews import Crew, Worker
from scheduling.models.daylinks import DayLink
from scheduling.models.equipment import EquipmentKind, EquipmentUnit
from scheduling.models.events import EventKind, PourEvent
from scheduling.models.forecasts import MADE_UP, ForecastWatch, SiteForecast, WeatherPage
from scheduling.models.heartbeats import Heartbeat
from scheduling.models.jobs import Job, Site, SiteHours, SiteHoursKind
from scheduling.models.live import (
    BALANCE_NOTES,
    BATCH_NOTES,
    LOAD_NOTES,
    TRUCK_NOTES,
    WITH_VOLUME,
    Alarm,
    NoteKind,
    SiteNote,
)
from scheduling.models.messages import Answer, Message, MessageKind, MessagePour, MessageState, SendingMinute
from scheduling.models.orders import STANDING_ORDER, OrderState, PlantOrder
from scheduling.models.papers import Paper, PaperKind
from scheduling.models.people import Language, User
from scheduling.models.plans import Plan, PlanPhase
from scheduling.models.plants import FeeDay, Mix, Plant, PlantClosure, PlantFee, PlantHours, PlantOpening
from scheduling.models.pours import STANDING, Pour, PourState
from scheduling.models.rates import RateReset
from scheduling.models.reminders import Reminder, ReminderKind, ReminderState
from scheduling.models.replies import Consent, ConsentKind, ConsentWay, Meaning, Reply
from scheduling.models.slabs import SlabEdge, SlabOpening, SlabSection
from scheduling.models.week import (
    HAS_A_WEEK,
    UNDER_WAY,
    AcceptedClash,
    PartKind,
    PartState,
    ProposalState,
    SharedWeek,
    WeekPart,
    WeekProposal,
)

__all__ = [
    "BALANCE_NOTES",
    "BATCH_NOTES",
    "HAS_A_WEEK",
    "LOAD_NOTES",
    "MADE_UP",
    "STANDING",
    "STANDING_ORDER",
    "TRUCK_NOTES",
    "UNDER_WAY",
    "WITH_VOLUME",
    "Absence",
    "AcceptedClash",
    "Alarm",
    "Answer",
    "CalendarLink",
    "Company",
    "Consent",
    "ConsentKind",
    "ConsentWay",
    "Crew",
    "DayLink",
    "EquipmentKind",
    "EquipmentUnit",
    "EventKind",
    "FeeDay",
    "ForecastWatch",
    "Heartbeat",
    "Job",
    "Language",
    "Meaning",
    "Message",
    "MessageKind",
    "MessagePour",
    "MessageState",
    "Mix",
    "NoteKind",
    "OrderState",
    "Paper",
    "PaperKind",
    "PartKind",
    "PartState",
    "Plan",
    "PlanPhase",
    "Plant",
    "PlantClosure",
    "PlantFee",
    "PlantHours",
    "PlantOpening",
    "PlantOrder",
    "Pour",
    "PourEvent",
    "PourState",
    "ProposalState",
    "RateReset",
    "Reminder",
    "ReminderKind",
    "ReminderState",
    "Reply",
    "RoadSeason",
    "SendingMinute",
    "SharedWeek",
    "Site",
    "SiteForecast",
    "SiteHours",
    "SiteHoursKind",
    "SiteNote",
    "SlabEdge",
    "SlabOpening",
    "SlabSection",
    "Units",
    "User",
    "WeatherPage",
    "WeekPart",
    "WeekProposal",
    "Worker",
]
