"""Compares the colour steps of a conversion with the package colour-science over grids.

Argument: the program that runs conversions, lines of JSON in and out. Exit code 1 if a difference is over its tolerance.
"""

import itertools
import json
import subprocess
import sys
import warnings

import numpy

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

# The package knows the primaries and the white point of sRGB and makes the matrices from them, as we do; by default it
# takes the four places that the standard prints.
SRGB = colour.RGB_COLOURSPACES["sRGB"]
SRGB.use_derived_matrix_RGB_to_XYZ = True
SRGB.use_derived_matrix_XYZ_to_RGB = True

RGB, HSV, XYY, XY = ("red", "green", "blue"), ("hue", "saturation", "value"), ("x", "y", "Y"), ("x", "y")

failed = False


def ours(step, inputs):
    """What our interpreter makes of the inputs, structures or numbers."""
    lines = "\n".join(json.dumps({"steps": [{"step": step}], "input": one}) for one in inputs)
    done = subprocess.run([sys.argv[1]], input=lines + "\n", capture_output=True, text=True, check=True)
    return [json.loads(line) for line in done.stdout.splitlines()]


def named(names, rows):
    return [dict(zip(names, map(float, row))) for row in rows]


def judge(name, names, got, wanted, tolerance, differ=lambda a, b: abs(a - b)):
    """Prints the largest difference over all numbers; a null of ours has no counterpart and counts as missing."""
    global failed
    worst, at, missing = 0.0, None, 0
    for ours_, theirs in zip(got, wanted, strict=True):
        for key, value in zip(names, theirs, strict=True):
            mine = ours_[key] if isinstance(ours_, dict) else ours_
            if mine is None:
                missing += 1
                continue
            difference = differ(mine, float(value))
            if difference > worst:
                worst, at = difference, (ours_, list(map(float, theirs)))
    verdict = "ok" if worst <= tolerance else "FAILED"
    failed |= worst > tolerance
    print(f"{verdict}: {name}: {len(got)} colours, {worst:.2g} off at most, {tolerance:g} allowed, {missing} nulls")
    if worst > tolerance:
        print(f"  ours and theirs: {at}")
    return missing


def expect(name, got, wanted):
    global failed
    failed |= got != wanted
    print(f"{'ok' if got == wanted else 'FAILED'}: {name}: {got}, expected {wanted}")


def turn(a, b):
    """Hues go round: 0 is 360."""
    return min(abs(a - b) % 360, 360 - abs(a - b) % 360)


steps = numpy.linspace(0, 1, 18)
cube = list(itertools.product(steps, repeat=3))
greys = sum(1 for red, green, blue in cube if red == green == blue)

# RGB to HSV: one formula in doubles. Grey has no hue and black no saturation here; theirs is 0.
theirs = colour.RGB_to_HSV(numpy.array(cube)) * [360, 1, 1]
got = ours("rgb-to-hsv", named(RGB, cube))
nulls = judge("rgb-to-hsv, hue in degrees", HSV[:1], got, theirs[:, :1], 1e-12, turn)
nulls += judge("rgb-to-hsv, saturation and value", HSV[1:], got, theirs[:, 1:], 1e-12)
expect("nulls: a hue for each grey, a saturation for black", nulls, greys + 1)

# HSV to RGB.
cone = list(itertools.product(numpy.linspace(0, 359.5, 61), steps, steps))
theirs = colour.HSV_to_RGB(numpy.array(cone) / [360, 1, 1])
expect("nulls", judge("hsv-to-rgb", RGB, ours("hsv-to-rgb", named(HSV, cone)), theirs, 1e-12), 0)

# RGB to xyY, with the transfer function of IEC 61966-2-1. For black theirs is the white point, ours is null.
linear = colour.cctf_decoding(numpy.array(cube), function="sRGB")
theirs = colour.XYZ_to_xyY(colour.RGB_to_XYZ(linear, SRGB, chromatic_adaptation_transform=None))
nulls = judge("rgb-to-xyy", XYY, ours("rgb-to-xyy", named(RGB, cube)), theirs, 1e-12)
expect("nulls: the chromaticity of black", nulls, 2)

# xyY to RGB and so both ways: colours within the gamut come back. Where the two parts of the transfer function meet they
# leave a gap of 3e-8, which the standard has.
lit = [one for one in theirs if one[2] > 0]
back = colour.cctf_encoding(colour.XYZ_to_RGB(colour.xyY_to_XYZ(numpy.array(lit)), SRGB, chromatic_adaptation_transform=None), function="sRGB")
got = ours("xyy-to-rgb", named(XYY, lit))
judge("xyy-to-rgb within the gamut", RGB, got, back, 1e-12)
judge("rgb-to-xyy and xyy-to-rgb", RGB, got, [one for one in cube if max(one) > 0], 1e-7)

# xyY outside the gamut: negative components are cut off, then the largest is made 1.
wide = list(itertools.product(numpy.linspace(0.05, 0.73, 35), numpy.linspace(0.03, 0.83, 41), (0.1, 0.5, 1.0)))
wide = [one for one in wide if one[0] + one[1] <= 1]
raw = colour.XYZ_to_RGB(colour.xyY_to_XYZ(numpy.array(wide)), SRGB, chromatic_adaptation_transform=None).clip(0)
raw /= numpy.maximum(raw.max(axis=1), 1)[:, None]
theirs = colour.cctf_encoding(raw, function="sRGB")
judge("xyy-to-rgb, any colour", RGB, ours("xyy-to-rgb", named(XYY, wide)), theirs, 1e-12)

# Kelvin to xy and back, by the same published formulas.
kelvins = [float(kelvin) for kelvin in range(1667, 25001, 7)]
theirs = colour.temperature.CCT_to_xy_Kang2002(numpy.array(kelvins))
judge("kelvin-to-xy", XY, ours("kelvin-to-xy", kelvins), theirs, 1e-12)
theirs = colour.temperature.xy_to_CCT_McCamy1992(theirs)
near = [(kelvin, one) for kelvin, one in zip(kelvins, theirs) if 1667 <= one <= 25000]
got = ours("xy-to-kelvin", ours("kelvin-to-xy", [kelvin for kelvin, _ in near]))
judge("xy-to-kelvin, in kelvin", ("",), got, [[one] for _, one in near], 1e-6)

# What the chosen formulas are worth: against the temperature found by the method of Ohno (2013) on the 1931 observer.
lamps = [float(kelvin) for kelvin in range(2000, 8001, 50)]
uv = colour.xy_to_UCS_uv(numpy.array([list(one.values()) for one in ours("kelvin-to-xy", lamps)]))
found = colour.temperature.uv_to_CCT_Ohno2013(uv)[:, 0]
share = [[100 * abs(kelvin - one) / kelvin] for kelvin, one in zip(lamps, found)]
judge("kelvin-to-xy against Ohno 2013, per cent", ("",), [0.0] * len(share), share, 0.5)

# Kelvin and mireds.
mireds = colour.temperature.CCT_to_mired(numpy.array(kelvins))
lines = [{"steps": [{"step": "reciprocal", "numerator": 1000000}], "input": kelvin} for kelvin in kelvins]
done = subprocess.run(
    [sys.argv[1]], input="".join(json.dumps(line) + "\n" for line in lines), capture_output=True, text=True, check=True
)
judge("kelvin to mireds", ("",), [json.loads(line) for line in done.stdout.splitlines()], [[one] for one in mireds], 1e-12)

sys.exit(failed)
