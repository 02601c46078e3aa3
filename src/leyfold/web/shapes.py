"""What comes in and goes out as JSON."""

from datetime import date, datetime
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field
from pydantic_core import PydanticCustomError

__all__ = [
    "Accept", "Error", "FarmShown", "Found", "Invitation", "Invite", "Me", "NewPassphrase", "Ok",
    "PersonShown", "Pulled", "Pushed", "RefusedRecord", "Replan", "Rounds", "SessionShown", "SignIn", "Sound",
]  # fmt: skip


def _text(value: str) -> str:
    """Half a surrogate pair is no text and can be kept nowhere."""
    try:
        value.encode()
    except UnicodeEncodeError:
        raise PydanticCustomError("string_type", "no text") from None
    return value


Text = Annotated[str, AfterValidator(_text)]
Name = Annotated[Text, Field(min_length=1, max_length=64)]
Pass = Annotated[Text, Field(max_length=1024)]


class Given(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class SignIn(Given):
    name: Name
    passphrase: Pass


class Accept(Given):
    passphrase: Pass | None = None


class NewPassphrase(Given):
    now: Pass = ""
    new: Pass


class Invite(Given):
    person: Name


class Replan(Given):
    what: Annotated[list[Annotated[Text, Field(max_length=500)]], Field(max_length=20)] = []


class FaultShown(BaseModel):
    where: str
    field: str
    wrong: str
    mend: str


class Refused(BaseModel):
    code: str
    message: str
    faults: list[FaultShown]


class Error(BaseModel):
    error: Refused


class Ok(BaseModel):
    ok: Literal[True] = True


class PersonShown(BaseModel):
    id: str
    name: str
    role: Literal["farmer", "helper", "child", "looker-on"]


class FarmShown(BaseModel):
    name: str
    zone: str
    language: str
    currency: str
    lengths: str
    measures: dict[str, str]
    people: list[PersonShown]


class Me(BaseModel):
    person: PersonShown
    rights: list[str]
    csrf: str
    farm: FarmShown
    now: datetime
    practice: bool
    version: str


class Wire(BaseModel):
    id: str
    device: str
    who: str
    at: str
    entered: str
    kind: str
    data: dict[str, Any]


class RefusedRecord(BaseModel):
    id: str
    why: str
    mend: str


class Pushed(BaseModel):
    accepted: list[str]
    duplicates: list[str]
    refused: list[RefusedRecord]
    flagged: list[RefusedRecord]
    cursor: int
    book: str


class Pulled(BaseModel):
    records: list[Wire]
    cursor: int
    more: bool
    book: str


class PlannedDays(BaseModel):
    first: date
    last: date


class Rounds(BaseModel):
    made_at: datetime
    inputs_sha256: str
    season: PlannedDays
    records: dict[str, list[str]]
    rounds: list[dict[str, Any]]


class Invitation(BaseModel):
    person: PersonShown
    link: str
    until: datetime
    svg: str


class SessionShown(BaseModel):
    id: str
    person: str
    name: str
    device: str
    seen: datetime
    until: datetime
    here: bool


class Found(BaseModel):
    what: str
    grade: str
    said: str
    mend: str


class Sound(BaseModel):
    findings: list[Found]
