"""What a photo is worth: drawn scenes, sharp and blurred, black, white and noise; both sides agree."""

import random

import pytest
from hypothesis import strategies as st
from parity import parity
from PIL import Image, ImageDraw, ImageFilter
from twins import agree

from webapp import tables
from webapp.survey.errors import SurveyError
from webapp.survey.review.photo_quality import focus_measure, light_measure, photo_faults

LIMITS = {row["name"]: row["value"] for row in tables.load("leave_site")["limits"]}
SIZE = (960, 720)


def pipe(chance):
    """Rings that shrink towards the middle, joints, a crack."""
    image = Image.new("L", SIZE, 65)
    draw = ImageDraw.Draw(image)
    for r in range(360, 12, -12):
        draw.ellipse((480 - r, 360 - r, 480 + r, 360 + r), fill=30 + r * 140 // 360)
    for k in range(1, 7):
        r = 300 // k
        draw.ellipse((480 - r, 360 - r, 480 + r, 360 + r), outline=38, width=max(1, 6 // k))
    draw.line([(180, 240), (252, 312), (264, 384), (336, 456)], fill=18, width=4)
    return image


def gravel(chance):
    image = Image.new("L", SIZE, 65)
    draw = ImageDraw.Draw(image)
    for _ in range(1800):
        x, y, r = chance.randrange(960), chance.randrange(720), chance.randrange(2, 18)
        draw.ellipse((x - r, y - r, x + r, y + r), fill=chance.randrange(40, 200))
    return image


def plain(chance):
    """A smooth wall, brighter to one side, with one hole: little to be sharp about."""
    image = Image.linear_gradient("L").rotate(90).resize(SIZE).point(lambda v: 90 + v * 100 // 255)
    ImageDraw.Draw(image).ellipse((420, 300, 540, 420), fill=50)
    return image


def noise(chance, middle=128, spread=60):
    flat = bytes(min(255, max(0, int(chance.gauss(middle, spread)))) for _ in range(240 * 180))
    return Image.frombytes("L", (240, 180), flat).resize((480, 360), Image.Resampling.NEAREST)


def measured(image):
    """What the phone would store: the picture at 480 px, its greys measured."""
    small = image.resize((480, 480 * image.height // image.width), Image.Resampling.BILINEAR)
    grey = list(small.tobytes())
    return {"focus_pct": focus_measure(grey, *small.size), **light_measure(grey)}


def faults(image):
    return photo_faults(measured(image), LIMITS)


def softer(image, share):
    return image.filter(ImageFilter.GaussianBlur(share * image.width))


@pytest.mark.parametrize("scene", [pipe, gravel, plain])
def test_a_sharp_picture_is_sharp_at_any_contrast(scene):
    image = scene(random.Random(7))
    assert faults(image) == []
    assert faults(image.point(lambda v: 60 + v // 2)) == []


@pytest.mark.parametrize("scene", [pipe, gravel, plain])
@pytest.mark.parametrize("share", [0.02, 0.03, 0.05])
def test_a_blurred_picture_is_told(scene, share):
    assert faults(softer(scene(random.Random(7)), share)) == ["photo_unsharp"]


@pytest.mark.parametrize("scene", [pipe, gravel, plain])
def test_the_more_blurred_the_smaller_the_measure(scene):
    image = scene(random.Random(7))
    values = [measured(softer(image, share))["focus_pct"] for share in (0, 0.0025, 0.005, 0.01, 0.02)]
    assert values == sorted(values, reverse=True) and values[0] > 4 * values[2]


@pytest.mark.parametrize(("level", "reported"), [(0, "photo_dark"), (12, "photo_dark"), (255, "photo_bright"),
                                             (120, "photo_unsharp")])  # fmt: skip
def test_one_even_tone(level, reported):
    assert faults(Image.new("L", SIZE, level)) == [reported]


def test_the_noise_of_a_dark_sensor_is_black_and_strong_noise_is_no_claim():
    assert faults(noise(random.Random(3), 8, 6)) == ["photo_dark"]
    assert faults(noise(random.Random(3))) == []


def test_a_lamp_in_the_dark_is_not_black():
    image = Image.new("L", SIZE, 4)
    ImageDraw.Draw(image).ellipse((340, 220, 620, 500), fill=230)
    assert measured(image)["brightness_pct"] < 2 * LIMITS["dark_pct"]
    assert faults(image) == []


def test_nothing_is_said_of_a_tiny_picture_or_of_one_that_was_not_measured():
    assert focus_measure([0] * 2000, 50, 40) is None
    assert photo_faults({}, LIMITS) == [] and photo_faults({"brightness_pct": 0.0}, LIMITS) == []


@pytest.mark.parametrize("args", [([], 0, 0), ([1] * 99, 10, 10)])
def test_a_picture_with_pixels_missing_is_refused(args):
    with pytest.raises(SurveyError) as caught:
        focus_measure(*args)
    assert caught.value.code == "picture_incomplete"


@parity(
    "review/photo_quality",
    st.integers(40, 60),
    st.integers(48, 60),
    st.integers(0, 2**31),
    st.sampled_from([3, 40, 256]),
    cases=400,
)
def test_both_sides_measure_alike(twin, width, height, seed, levels):
    chance = random.Random(seed)
    grey = [chance.randrange(levels) for _ in range(width * height)]
    agree(twin, "survey/review/photo_quality", "focus_measure", focus_measure, grey, width, height)
    agree(twin, "survey/review/photo_quality", "light_measure", light_measure, grey)
    agree(twin, "survey/review/photo_quality", "focus_measure", focus_measure, grey[:99], width, height)


def test_both_sides_measure_a_scene_alike(twin):
    small = pipe(random.Random(7)).resize((480, 360))
    agree(
        twin, "survey/review/photo_quality", "focus_measure", focus_measure, list(small.tobytes()), 480, 360
    )
    agree(twin, "survey/review/photo_quality", "light_measure", light_measure, [])
