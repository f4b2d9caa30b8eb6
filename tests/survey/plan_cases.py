"""Generated runs in plan, as plain values that both sides take."""

from hypothesis import strategies as st

from webapp.survey.plan import trace

coordinates = st.one_of(st.just(0.0), st.floats(-1000, 1000), st.floats(100_000, 999_999))


@st.composite
def runs(draw, tied=None, most_bends=6):
    """Start, bends, length, spreads and, now and then or always, a tie near the far end."""
    length = draw(st.floats(0.5, 300))
    shares = sorted(draw(st.lists(st.floats(0, 1), max_size=most_bends)))
    bends = [
        {
            "chainage_m": s * length,
            "deflection_deg": draw(st.floats(-95, 95)),
            "sd_deg": draw(st.floats(0.1, 3)),
        }
        for s in shares
    ]
    start = {
        "e_m": draw(coordinates),
        "n_m": draw(coordinates),
        "sd_m": draw(st.sampled_from([0.0, 0.02, 0.3, 3.0])),
        "bearing_deg": draw(st.floats(-360, 720)),
        "bearing_sd_deg": draw(st.sampled_from([0.0, 0.5, 2.0])),
    }
    values = [
        start,
        bends,
        sized(length, draw(st.sampled_from([0.0, 0.003, 0.02])), draw(st.sampled_from([0.0, 0.05]))),
    ]
    wanted = draw(st.booleans()) if tied is None else tied
    if wanted:
        end = trace_of(*values).points[-1]
        values.append(
            {
                "e_m": end.e_m + draw(st.floats(-3, 3)),
                "n_m": end.n_m + draw(st.floats(-3, 3)),
                "sd_m": draw(st.sampled_from([0.05, 0.2, 1.0])),
            }
        )
    return values


def sized(length_m, scale_sd=0.0, leg_sd_m=0.0):
    """Return the plan length of a trace as plain values."""
    return {"length_m": length_m, "scale_sd": scale_sd, "leg_sd_m": leg_sd_m}


def trace_of(start, bends, length, tie=None):
    """Run the trace on plain values."""
    return trace.trace_plan(
        trace.Start(**start),
        [trace.Bend(**b) for b in bends],
        trace.TraceLength(**length),
        trace.EndTie(**tie) if tie else None,
    )
