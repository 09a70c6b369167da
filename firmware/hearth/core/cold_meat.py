"""Cold meat that went on, as a person has noted it: what it takes is no evidence against the pit's probe.

Thirty kilograms of cold meat hold a pit down as a slipped probe does. No reading tells the two apart, but the person
who put the meat on knows it. An ordinary load is in the evidence already that a doubt needs. It needs as much more as
the rest can take:

- Air. In its first hour a kilogram warms by some 33 K (3.5 kJ/kg K, 115 kJ) and gives off 3 % of itself as water
  (2.4 MJ/kg, 72 kJ): 187 kJ. A full fan brings some 3.5 kW more than the pit lately needed: 53 s of it.
- Degrees. Until the fire has grown, some 10 min, what the meat takes is missing from the pit: some 50 W/kg (15 W/m2 K,
  0.05 m2/kg, 65 K) or 30 kJ. A pit that is a degree too cold saves 25 W by its walls and the air that leaves, 1500 J in
  a minute: 20 C min.

What is noted and not there leaves the doubt less sharp for that long, and no guard else. It counts until the pit is
back in its band after the lid. If it is noted sooner or later than that, it counts for two hours at most, and for half
an hour in the band.
"""

from .fields import ACCEPTED, MODE_OFF, NOT_RUNNING, OUT_OF_RANGE

MOST = 2000  # 0.1 kg
ORDINARY = 80  # 0.1 kg
LASTS = 3600  # cycles, 2 h
IN_BAND = 4  # times as fast the time runs while it does not hold the pit down
LACKS = 6000  # 0.01 C x cycles for 0.1 kg, 20 C min/kg
STRAINS = 26500  # 0.01 % x cycles for 0.1 kg, 53 s of full fan a kg


def take(now, memory):
    """The order `meat`: the mass of all cold meat that went on lately, 0.1 kg; 0 takes it back."""
    if memory.mode == MODE_OFF:
        return NOT_RUNNING
    if not 0 <= now.first <= MOST:
        return OUT_OF_RANGE
    memory.cold = now.first
    memory.cold_left = LASTS if now.first else 0
    return ACCEPTED


def watch(memory):
    """Once a cycle: after its time the meat is cold no more."""
    if memory.cold_left > 0:
        pace = IN_BAND if memory.smooth >= memory.low * 16 else 1
        memory.cold_left = max(0, memory.cold_left - pace)
        if memory.cold_left == 0:
            memory.cold = 0


def warmed(memory):
    """The pit is back after the lid by which it went on: from now on it takes what the fire lately gives."""
    memory.cold = 0
    memory.cold_left = 0


def lacks(memory):
    """What it explains of what is missing, 0.01 C x cycles."""
    return max(0, memory.cold - ORDINARY) * LACKS


def strains(memory):
    """What it explains of the air beyond the usual, 0.01 % x cycles."""
    return max(0, memory.cold - ORDINARY) * STRAINS
