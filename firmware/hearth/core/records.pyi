"""Types of the records, made from the field table by `python -m tuyere.staging`."""

def layout(table: tuple) -> list: ...
def codes(table: tuple) -> str: ...

class Record:
    TABLE: tuple
    NAMES: tuple
    FORM: str
    def values(self) -> list[int]: ...
    def set_values(self, flat: list[int] | tuple[int, ...]) -> None: ...
    def pack(self) -> bytes: ...
    def unpack(self, data: bytes) -> int: ...
    def wrong(self) -> tuple[str, int, int, int] | None: ...

class Now(Record):
    dt: int
    pit: int
    faults: int
    meat_1: int
    meat_2: int
    meat_3: int
    ambient: int
    order: int
    first: int
    second: int

class Memory(Record):
    cycles: int
    mode: int
    state: int
    state_cycles: int
    low: int
    high: int
    aim: int
    smooth: int
    slope: int
    seen: int
    last: int
    owed: int
    fan: int
    duty: int
    credit: int
    hand_fan: int
    hand_left: int
    hand_from: int
    arrived: int
    open_left: int
    open_felt: int
    open_from: int
    open_low: int
    fall_cycles: int
    fall_from: int
    recover_left: int
    long_cycles: int
    calm_left: int
    held: int
    lately: int
    usual: int
    more_cycles: int
    full_cycles: int
    rest_cycles: int
    starved: int
    above: int
    excursion: int
    bad_cycles: int
    hot_cycles: int
    trip: int
    trips: int
    openings: int
    phase: int
    phases: int
    phase_cycles: int
    meat_cycles: int
    rows: list[int]

class Out(Record):
    fan: int
    duty: int
    state: int
    reason: int
    trip: int
    answer: int
    phase: int
    low: int
    high: int
    aim: int
    pull: int
    owed: int
    brake: int
    need: int

class Settings(Record):
    band_low: int
    band_high: int
    gain: int
    reset: int
    lead: int
    coast: int
    filter: int
    pace: int
    known: int
    slowest: int
    breakaway: int
    ceiling: int
    breath: int
    fall: int
    fall_least: int
    open_fan: int
    open_most: int
    recover: int
    hand_most: int
    bad_after: int
    bad_trip: int
    rest_above: int
    pit_limit: int
    fade_fan: int
    fade_after: int
    fade_more: int
    fade_known: int
    out_after: int
    out_below: int
    leak_after: int
    deep: int
    deep_trip: int
