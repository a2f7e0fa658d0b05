"""Why a row is missed, as far as we can tell: one sentence, for a value below and for one above its band."""

# ruff: noqa: E501  a table reads best with one row on a line
from __future__ import annotations

from experiments.validation.people import able_of_treadmill
from experiments.validation.targets import Finding, Target
from experiments.validation.walks import Walks, able_of_angles, both

_SOFT = "The stance knee is a spring between limits of strength and gives more under the landing than a person lets it."
_STIFF = (
    "The stance knee is a spring between limits of strength and gives less under the landing than a person lets it."
)
_SWING = "The swing follows a planned lift of the foot with clearance to spare; nothing rewards a lower one."
_LOW_SWING = "The swing follows a planned lift of the foot, lower than people's."
_ANKLE = "The sound foot rolls on three points and its ankle pushes only to support, so the heel lifts at another time."
_CONTACT = "Landing and lift-off follow from planned foot paths and soft ground, not from timing learned from people."
_PROSTHESIS = (
    "The prosthetic side carries as much and as long as balance of the plan needs; a person's caution is not in it."
)
#: Id -> sentence for a value below its band, sentence for one above it.
SENTENCES: dict[str, tuple[str, str]] = {
    "A01": ("The swing plan lands the leg straighter.", "The swing plan lands the leg on a bent knee, to soften a blow without push-off."),
    "A02": ("The swing plan lands the leg straighter.", "The swing plan lands the leg on a bent knee, to soften a blow without push-off."),
    **dict.fromkeys(("A03", "A04", "A05"), (_STIFF, _SOFT)),
    "A06": ("The stance knee straightens again after landing; people keep it bent to let the body down.", _SOFT),
    **dict.fromkeys(("A07", "A08"), (_LOW_SWING, _SWING)),
    **dict.fromkeys(("A09", "A10"), (_ANKLE, _ANKLE)),
    "A11": ("Most of the way down the thigh stays where the planned hip path puts it.", "The walker lowers itself by reaching with the thigh, where people bend the knee."),
    **dict.fromkeys(("F01", "F02"), ("The ground contact is softer than this person's leg.", "The other leg does not push off, so the landing leg takes the whole collision.")),
    "F03": ("There is hardly any push-off, which this peak needs (the row says so).", "The stance leg is pushed straight late in stance."),
    "F04": ("Mean force is the weight: a higher first peak leaves less in the middle.", "Mean force is the weight: lower peaks leave more in the middle."),
    "F05": ("The landing foot brakes what push-off does not carry over.", "The landing foot is drawn back before it lands."),
    **dict.fromkeys(("S05", "S06"), (_CONTACT, _CONTACT)),
    "W01": ("On the level the knee already resists a hard landing, so that the ratio is small.", "On the level the landing knee resists little."),
    "P01": ("The level walk already loads the sound leg, for want of push-off.", "The sound leg catches what the yielding knee lets down; its landing is not eased by a rail or by caution."),
    **dict.fromkeys(("P02", "P03", "P05", "P07"), (_PROSTHESIS, _PROSTHESIS)),
    "P04": ("The sound leg lands softly.", "The prosthetic foot does not push off, so that the sound leg takes the whole collision."),
    "P06": ("The free shank swings less at this hip motion.", _SWING),
    "P08": ("The start resistance is firm for gentle slopes.", "The start resistance is low enough to yield on gentle slopes too."),
    "C01": ("The person's controller answers a softer knee with other landings, and the sound peak follows those.", ""),
    "C04": ("", "A hand that carries on one side unloads the foot below it; only a trunk that leans to the rail turns it round."),
    "C02": ("", "The speed is held by the person's controller, so a firmer knee is made up for until it fails."),
    "C03": ("", "The sound peak follows the landing that the controller plans, not the collision of rigid legs alone."),
    "C05": ("The controller answers the slope with the sound leg first.", ""),
}  # fmt: skip
_PUSH = ("F01", "F02", "F03", "A03", "A04", "A05")


def cause(target: Target, finding: Finding, walks: Walks) -> str:
    """Sentence for a row that is not met."""
    if finding.fell:
        return finding.fell[0].upper() + finding.fell[1:] + "."
    middle = 0.0 if target.low is None or target.high is None else 0.5 * (target.low + target.high)
    sentence = SENTENCES.get(target.id, ("", ""))[(finding.ours or 0.0) > middle]
    if target.id in _PUSH:
        result = walks.of(able_of_treadmill(1.30) if target.id[0] == "F" else able_of_angles(target.slope_deg or 0.0))
        if result.outcome == "walked":
            work = both(result, "ankle_work_in_j_per_m") * 2.0 * both(result, "step_length_m")
            sentence += f" Work that an ankle gives: {work:.1f} J a stride."
    return sentence or "No cause is known."
