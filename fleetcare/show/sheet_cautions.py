"""The general cautions, once on every sheet; what one job or opening asks for stands with it.

Sources: kill cord, neutral, plug caps, block of wood, propeller off for test runs, tilted engines,
hot parts: a maker's handbook. Never dry: AMSA Marine Notice 12/2017; 30 seconds: "Cooling system
repair tips". Exhaust gas: NIOSH, CO Dangers in Boating. Fuel: Marine Safety Victoria, Vessel
Maintenance Check List. Weights: ABYC Table 1A, as reprinted, against OSHA on NIOSH lifting. Used
oil: New York Sea Grant, Marina Pollution Prevention. Battery: Proficiency in Survival Craft and
Rescue Boats. The rest: common practice, no source.
"""

from __future__ import annotations

from fleetcare.show.words import Words


def general_cautions(words: Words) -> tuple[str, ...]:
    """What holds for every job."""
    return (
        words(
            "Before a hand goes near: engine stopped, kill cord off, key out, gear in neutral, "
            "battery isolated, plug caps off."
        ),
        words("Propeller off before it is run for a test; nobody in the water or astern."),
        words("Never run it without water, not for a moment: the pump is ruined in 30 seconds."),
        words("Run it outdoors only: exhaust gas builds up within seconds; do not stand over it."),
        words(
            "Fuel: no flame or spark, air moving, spill kit by. Battery: no sparks, eyes covered."
        ),
        words("Let hot parts cool: water scalds, oil may be under pressure."),
        words("Lift with two people or a hoist from 4 hp up. Never stand under a tilted engine."),
        words("Used oil and old fuel go to the collection, none to ground or water."),
        words("Not sure, or not the one who may do it? Stop and ask. Leave it; write why."),
    )
