"""The ways to the alarms that the Alarms card offers; `gui/ways/way.py` says how a further one is made."""

from levelbench.gui.ways.way import Offer, Offers

LADDER = "ladder"
DESIGN, USE = "design", "use"  # lines: which find good alarms, and which show what it is to live with them
OFFERS = Offers(
    "bands",
    "alarms",
    (
        Offer(LADDER, "Ladder", "every alarm with its limit, delays, priority and what the operator does", DESIGN),
        Offer("noise", "Noise", "dead bands and delays from how the PV scatters near a limit", DESIGN),
        Offer("time", "Time", "what each alarm leaves a person at the worst rate, and who has to act", DESIGN),
        Offer("shifts", "Shifts", "a thousand shifts by chance: how many alarms come, and is one missing", DESIGN),
        Offer("record", "Record", "why each alarm is there and what the operator does; to the sheet and CSV", DESIGN),
        Offer("lights", "Lights", "what the stack light and the horn show in every state, proved, and tried", USE),
        Offer("standing", "Standing", "the alarms of the run on the bench: acknowledge, shelve, out of service", USE),
    ),
)
