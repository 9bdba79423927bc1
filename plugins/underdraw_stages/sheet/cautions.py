"""The cautions that apply to this job: usual ones of the trade; makers' manuals and local rules come first."""

from underdraw_stages.sheet.contents import Facts


def cautions(facts: Facts) -> list[str]:
    """Machine first, then materials."""
    lines = [
        "Spindle: off, and unplugged or locked out, for as long as a marker is in the holder.",
        "Moving machine: hands, hair and sleeves clear; know where the stop is; stay with it while it runs.",
        "Markers, sealers and paint: read their safety data sheets; fresh air; gloves where they say so.",
        "Resin: gloves, eye protection and fresh air while it is wet; a dust mask for sanding it cured.",
        "Cutting boards and bars: eye and ear protection, dust taken off, a mask; cut well away from fingers.",
    ]
    for name in dict.fromkeys(
        load.ink.name for load in facts.loads if load.ink.wants_spring and not facts.holder.sprung
    ):
        lines.append(
            f"{name} wants a sprung holder, and “{facts.holder.name}” is rigid: the nib may be crushed or skip.†"
        )
    if fading := dict.fromkeys(load.ink.name for load in facts.loads if load.ink.fades_soon):
        lines.append(f"Markers of {', '.join(fading)} hold little ink and fade first: be ready to pause and swap.†")
    lines.append("Makers’ manuals, local rules and licensed practice come before anything on this sheet.")
    return lines
