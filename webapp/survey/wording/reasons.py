"""Findings and refusals of the figures in words, the same on server and phone."""

CODES = {
    "gradient_unknown": "The gradient is not known, so there is no number.",
    "gradient_level": "Level as far as can be told: no number.",
    "gradient_adverse": "It rises with the flow: no number.",
    "gradient_may_be_adverse": "Within its band the gradient may be adverse.",
    "bed_taken_as_rough_as_wall": "The deposit is taken to be as rough as the wall.",
    "flow_exceeds_capacity": "More than this stretch can carry without pressure.",
    "may_run_full": "So near to full that it may run full.",
    "critical_above_roof": "The critical depth lies above the roof.",
    "steeper_than_upright": "It would have to be steeper than upright.",
    "flow_not_turbulent": "The flow is not turbulent: the formula does not hold.",
    "roughness_large": "The roughness is large against the size: outside the range of the formula.",
    "roughness_beyond_formula": "The roughness is beyond the formula: no number.",
    "diameter_not_in_table": "The size is not in the table of the rule.",
    "too_few_wcs": "The rule asks for more WCs connected.",
    "rule_is_for_below_dn_300": "The rule is for sizes below DN 300.",
    "stretch_without_ends": "The stretch has no end yet, or ends before it starts.",
    "shape_not_known": "The shape is not recorded.",
    "size_not_known": "The size is not recorded.",
    "width_not_known": "The width is not recorded.",
    "bore_blocked": "Something fills the bore.",
    "bore_collapsed": "The pipe has collapsed here.",
    "bore_not_looked_at": "Nothing recorded shows that the bore is clear.",
    "length_not_seen": "Part of it could not be seen.",
    "narrowing_without_size": "Something narrows it whose size was not recorded.",
    "narrowing_without_place": "Something that narrows it is recorded without its place.",
    "narrowing_outside_pipes": "Something narrows it where no pipe is recorded.",
    "ended_at_obstruction": "The survey ended at an obstruction, and what that leaves is not recorded.",
    "pipe_not_throughout": "The pipe is not recorded all along.",
    "pipe_in_dispute": "Two phones recorded its pipe differently.",
    "levels_contradicted": "Level ties and readings contradict each other.",
    "fall_only_bounded": "Its fall is only bounded.",
    "backfall_in_it": "Part of it falls the wrong way; the water that stands there is allowed for.",
    "sag_fills_bore": "In a sag the water stands up to the crown even without any flow: no number.",
    "flow_out_of_range": "That flow is out of range.",
    "limit_out_of_range": "That limit is out of range.",
    "no_stretches": "No stretch is recorded.",
    "reading_incomplete": "A reading is incomplete.",
    "chainage_not_ascending": "The readings are not in order of chainage.",
    "tie_not_solvable": "The ties contradict each other.",
    "size_out_of_range": "The size is out of range.",
    "deposit_out_of_range": "The deposit does not fit the bore.",
    "bore_unknown": "The bore of this stretch is not known.",
    "headwater_below_tailwater": (
        "The water at the outlet stands as high as at the inlet: nothing flows forward."
    ),
    "headwater_too_low": "The water at the inlet is too low for anything to pass.",
    "headwater_out_of_range": "The headwater must lie above 0 and up to 100 m.",
    "tailwater_out_of_range": "The tailwater must lie between 0 and 100 m.",
    "length_out_of_range": "The length of the culvert is out of range.",
    "inlet_partly_blocked": "There is a deposit: the constants are for a clear inlet.",
    "pipes_overlap": "Single pipes overlap.",
    "tie_incomplete": "It has no counter distance or no level yet.",
    "before_zero": "It lies before chainage zero.",
    "bend_without_angle": "Its angle is not recorded.",
    "bend_without_counter": "Its counter reading is not recorded.",
    "bend_without_side": "Left or right is not recorded.",
    "joint_without_angle": "The angle of the joint is not recorded.",
    "joint_without_direction": "Which way the pipe turns at the joint is not recorded.",
    "joint_angle_out_of_range": "The angle of the joint cannot be.",
    "joint_angle_over_length": "Angled joints were recorded over a length, not one by one.",
    "share_out_of_range": "That share of 100 is out of range.",
    "pipe_length_out_of_range": "The length of the single pipes is out of range.",
    "bend_outside_run": "It lies outside the run.",
    "bend_angle_out_of_range": "Its angle cannot be.",
}


def code_words(code: str) -> str:
    """Return a finding or refusal of a figure in words.

    Parameters
    ----------
    code : str
        Of a ``SurveyError``, or a finding beside a figure.

    Examples
    --------
    >>> code_words("bore_blocked"), code_words("other")
    ('Something fills the bore.', 'It cannot be computed (other).')
    """
    return CODES.get(code, f"It cannot be computed ({code}).")
