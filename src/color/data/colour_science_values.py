"""Writes colour-science-values.csv: the values that checks.rs compares this room with.

Run with PyPI colour-science 0.4.7 installed:  python3 colour_science_values.py
White points are those of ASTM E308 in the form X, Y = 1, Z (the set that `palette` carries).
"""

import csv

import colour
import numpy as np

WHITES = {
    "A": (1.09850, 1.0, 0.35585),
    "C": (0.98074, 1.0, 1.18232),
    "D50": (0.96422, 1.0, 0.82521),
    "D65": (0.95047, 1.0, 1.08883),
    "F2": (0.99186, 1.0, 0.67393),
    "F11": (1.00962, 1.0, 0.64350),
}
SRGB_PRIMARIES = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
SRGB_CODES = [
    (0, 0, 0), (1, 1, 1), (10, 10, 10), (11, 11, 11), (118, 118, 118), (119, 119, 119), (255, 255, 255),
    (255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 0), (0, 255, 255), (255, 0, 255),
    (88, 112, 64), (70, 100, 60), (120, 140, 80), (60, 120, 100), (64, 132, 110), (80, 150, 128),
    (30, 40, 35), (200, 60, 50), (224, 172, 140), (70, 90, 160), (150, 110, 70), (245, 240, 230),
]
XYZ = [(0.20, 0.20, 0.05), (0.12, 0.18, 0.10), (0.40, 0.35, 0.25), (0.008, 0.009, 0.004)]


def xy(white):
    return np.array(white[:2]) / sum(white)


def lab_in_d50(xyz, white):
    in_d50 = colour.adaptation.chromatic_adaptation_VonKries(
        xyz, np.array(WHITES[white]), np.array(WHITES["D50"]), transform="Bradford"
    )
    return colour.XYZ_to_Lab(in_d50, xy(WHITES["D50"]))


def main():
    assert colour.__version__ == "0.4.7", colour.__version__
    to_xyz = colour.normalised_primary_matrix(SRGB_PRIMARIES, xy(WHITES["D65"]))
    worst = 0.0
    with open("colour-science-values.csv", "w", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["from", "x1", "x2", "x3", "L", "a", "b"])
        for code in SRGB_CODES:
            linear = colour.models.eotf_sRGB(np.array(code) / 255)
            lab = lab_in_d50(to_xyz @ linear, "D65")
            # What the same package gives with its own default white points and four-digit matrix.
            default = colour.XYZ_to_Lab(
                colour.RGB_to_XYZ(
                    linear, "sRGB", colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"], "Bradford"
                ),
                colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"],
            )
            worst = max(worst, np.max(np.abs(lab - default)))
            table.writerow(["sRGB8", *code, *(f"{v:.7f}" for v in lab)])
        for white in WHITES:
            for xyz in XYZ:
                table.writerow([white, *xyz, *(f"{v:.7f}" for v in lab_in_d50(np.array(xyz), white))])
    print(f"largest distance to the package's default white points and matrix: {worst:.4f} in Lab")


if __name__ == "__main__":
    main()
