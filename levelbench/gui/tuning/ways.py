"""The ways of tuning that the Tune card offers; `gui/ways/way.py` says how a further one is made."""

from levelbench.gui.ways.way import Offer, Offers

HAND = "hand"
SETTINGS, EVIDENCE = "settings", "evidence"  # lines: which find settings, and which find out what the rig does
OFFERS = Offers(
    "tuning",
    "tune",
    (
        Offer(HAND, "By hand", "change the settings and see what comes of it", SETTINGS),
        Offer("rules", "Rules", "published tuning rules side by side, each tried on this rig", SETTINGS),
        Offer("search", "Search", "the best settings for this rig, with what is not known of it", SETTINGS),
        Offer("filling", "Filling", "fill with the drain shut, where what is too much stays", SETTINGS),
        Offer("experiment", "Experiment", "disturb the loop with care and measure what it does", EVIDENCE),
        Offer("record", "Record", "read a record of the real rig and find out what it is", EVIDENCE),
        Offer("proof", "Proof", "before and after, on the same runs", EVIDENCE),
    ),
)
