"""Writes the published families and tables of this folder, and the values that tests/references/ checks them with.

Run here with PyPI colour-science 0.4.7 installed:  python3 make.py
Conversions are those of colour-science (Bradford), with the white points of ASTM E308 as X, Y = 1, Z.
"""

import json
import math

import colour
import numpy as np
from colour import SpectralDistribution, SpectralShape

VERSION = "PyPI colour-science 0.4.7"
WHITES = {"C": np.array([0.98074, 1.0, 1.18232]), "D50": np.array([0.96422, 1.0, 0.82521])}
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
# Root mean square of adaptation less truth over the chart's spectra, as src/shade/table/values.rs states it for C.
ADAPTATION_SD = (0.4, 1.1, 0.9)


def lab(xyz, white="D50"):
    return colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(WHITES[white]))


def d50_from_c(xyz):
    gains = (BRADFORD @ WHITES["D50"]) / (BRADFORD @ WHITES["C"])
    return np.linalg.inv(BRADFORD) @ np.diag(gains) @ BRADFORD @ xyz


def specimen(name, values, sd, note):
    return {"id": name, "lab": [round(float(v), 3) for v in values], "sd": list(sd), "method": "published",
            "aged": False, "note": note}


def family(path, name, source, shades):
    document = {"sameshot_shades": 1, "family": name, "source": source, "shades": []}
    lines = []
    for shade_id, label, one in shades:
        entry = json.dumps(one, ensure_ascii=False)
        lines.append('    {\n      "id": %s,\n      "label": %s,\n      "specimens": [\n        %s\n      ]\n    }'
                     % (json.dumps(shade_id), json.dumps(label), entry))
    head = json.dumps(document, indent=2, ensure_ascii=False)
    text = head.replace('"shades": []', '"shades": [\n%s\n  ]' % ",\n".join(lines))
    open(path, "w", encoding="utf-8").write(text + "\n")


def chart(path, key, source, since):
    listed = colour.CCS_COLOURCHECKERS[key]
    patches = listed.data
    shades = []
    for name, xyY in patches.items():
        name = name.split(" (")[0]
        xyz = colour.xyY_to_XYZ(xyY)
        # The data set has the maker's Lab as xyY under its own D50; this brings the Lab back.
        values = colour.XYZ_to_Lab(xyz, listed.illuminant)
        shades.append((f"chart/{name}", name, specimen(name, values, (0.3, 0.3, 0.3), since)))
    family(path, "24-patch chart", source, shades)


def munsell(path):
    shades = []
    for hue in ("5GY", "10GY", "5G"):
        for value in (5, 4, 3):
            entry = next(row for row in colour.MUNSELL_COLOURS["Munsell Colours Real"]
                         if row[0] == (hue, float(value), 4.0))
            x, y, luminance = entry[1]
            # The published Y is on the scale where magnesium oxide is 100; a perfect white is 0.975 of it.
            xyz = d50_from_c(colour.xyY_to_XYZ([x, y, 0.975 * luminance / 100]))
            name = f"{hue} {value}/4"
            sd = [round(math.hypot(0.2, s), 2) for s in ADAPTATION_SD]
            shades.append((f"munsell/{name}", name, specimen(name, lab(xyz), sd,
                           "renotation under illuminant C, adapted to D50 (Bradford)")))
    family(path, "Munsell greens", "S. M. Newhall, D. Nickerson, D. B. Judd, Final report of the O.S.A. subcommittee on the "
           "spacing of the Munsell colors, J. Opt. Soc. Am. 33(7):385-418, 1943; the \"real\" list of " + VERSION +
           ", Y times 0.975", shades)


def spectra(path, check_path):
    """Reflectances of the chart every 10 nm from 380 to 730 nm, and what colour-science makes of just these."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    d50 = colour.SDS_ILLUMINANTS["D50"]
    grid = list(range(380, 731, 10))
    whole = SpectralShape(360, 780, 1)
    white = colour.sd_to_XYZ(SpectralDistribution({nm: 1.0 for nm in range(360, 781)}), observer, d50,
                             method="Integration") / 100
    rows, checks = [], []
    for number, (name, sd) in enumerate(colour.SDS_COLOURCHECKERS["ColorChecker N Ohta"].items(), 1):
        name = name.split(" (")[0]
        values = [float(sd[nm]) for nm in grid]
        rows.append(f'{number}\t"{name}"\t' + "\t".join(f"{v:.4f}" for v in values))
        table = SpectralDistribution(dict(zip(grid, values)))
        table = table.interpolate(SpectralShape(380, 730, 1)).extrapolate(whole)
        xyz = colour.sd_to_XYZ(table, observer, d50, method="Integration") / 100
        values = colour.XYZ_to_Lab(xyz, colour.XYZ_to_xy(white))
        checks.append(f"{name}," + ",".join(f"{v:.4f}" for v in values))
    fields = ["SAMPLE_ID", "SAMPLE_NAME"] + [f"SPECTRAL_{nm}" for nm in grid]
    text = "CGATS.17\nORIGINATOR \"" + VERSION + "\"\n"
    text += "DESCRIPTOR \"24-patch chart, reflectances measured by Ohta (1997), every 10 nm\"\n"
    text += f"NUMBER_OF_FIELDS {len(fields)}\nBEGIN_DATA_FORMAT\n" + "\t".join(fields) + "\nEND_DATA_FORMAT\n"
    text += f"NUMBER_OF_SETS {len(rows)}\nBEGIN_DATA\n" + "\n".join(rows) + "\nEND_DATA\n"
    open(path, "w").write(text)
    head = f"# Lab D50, 2 degree, of the spectra of reflectance table chart-24-spectra.txt: {VERSION}, Sprague interpolation,\n" \
           "# ends held, integrated every 1 nm from 360 to 780 nm.\nname,l,a,b\n"
    open(check_path, "w").write(head + "\n".join(checks) + "\n")


chart("chart-24-after-2014.shades.json", "ColorChecker24 - After November 2014",
      f"24-patch colour rendition chart (C. S. McCamy, H. Marcus, J. G. Davidson 1976), the maker's Lab for charts made "
      f"after November 2014, from {VERSION}", "maker's value, charts made after November 2014")
chart("chart-24-before-2014.shades.json", "ColorChecker24 - Before November 2014",
      f"24-patch colour rendition chart (C. S. McCamy, H. Marcus, J. G. Davidson 1976), the maker's Lab for charts made "
      f"before November 2014, from {VERSION}", "maker's value, charts made before November 2014")
munsell("munsell-greens.shades.json")
spectra("chart-24-spectra.txt", "../tests/data/chart-24-spectra-lab.csv")
