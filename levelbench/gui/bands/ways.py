"""The ways to the alarms that the Alarms card offers; `gui/ways/way.py` says how a further one is made."""

from levelbench.gui.ways.way import Offer, Offers

LADDER = "ladder"
OFFERS = Offers(
    "bands",
    "alarms",
    (
        Offer(LADDER, "Ladder", "every alarm with its limit, dead band, delays, priority and what the operator does"),
        Offer("noise", "Noise", "dead bands and delays from how the PV scatters near a limit"),
        Offer("time", "Time", "what each alarm leaves a person at the worst rate, and who has to act"),
        Offer("shifts", "Shifts", "a thousand shifts by chance: how many alarms come, and is one missing"),
        Offer("record", "Record", "why each alarm is there and what the operator does; to the sheet and to CSV"),
    ),
)
