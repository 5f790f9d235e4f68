"""Writes light-vectors.json: what tests/measuring/light_vectors.rs compares the light model with.

An implementation of the model by itself, from the formulas in the documentation of src/light/: dense matrices,
derivatives by differences, Gauss-Newton until a step is below 1e-6 prior standard deviations. It shares the learned
numbers (src/light/constants.json) with the program, and no code. Flat areas only, as the cases have no parts; in one of
them two photos by one camera show every thing.

Run with PyPI numpy 2.4 installed:  python3 tests/data/light_vectors.py
The inputs of each case (coded sRGB, places in the model's length unit, known Lab with standard deviations) are read
from light-vectors.json; mean, covariance and weights there are written anew, and how far they moved is printed.
"""

import json
from pathlib import Path

import numpy as np
from numpy.polynomial.legendre import legval

HERE = Path(__file__).parent
CONSTANTS = json.loads((HERE / "../../src/light/constants.json").read_text())

# Fixed by hand in src/light/: forward.rs, prior.rs, misfit.rs, solve.rs.
LEAST_Y, LEAST_SHARE, MID_GREY = 0.002, 0.1, 0.2
WARM_SLOPE_SD, LIGHT_CURVE_SD = 0.06, 0.05
CHROMA_CAP = 100.0
SCALES, LEAST_GROUP, GREY_CHROMA = 5, 0.004, 10.0
# Of Gauss-Newton, from the prior mean: the longest step, and the one that is the last, in prior standard deviations.
LONGEST_STEP, SETTLED = 1.5, 1e-6

# Parameters: gains, bends, flare, slopes in x and in y, cross terms (to, from), curve of the light.
PARAMETERS = 25
GAIN, BEND, FLARE, SLOPE_X, SLOPE_Y, CROSS, CURVE = 0, 3, 7, 10, 13, 16, 22
CROSS_TERMS = [(0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1)]
UNIT = np.eye(PARAMETERS)
# The camera's own: the same in all photos.
OF_CAMERA = [*range(BEND, FLARE), *range(CROSS, CURVE)]

D50 = np.array([0.96422, 1.0, 0.82521])
SRGB_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
)
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
CONES = BRADFORD @ D50 / (BRADFORD @ SRGB_TO_XYZ.sum(axis=1))
# Linear sRGB to XYZ under D50, over its white.
TO_RELATIVE_XYZ = np.diag(1 / D50) @ np.linalg.inv(BRADFORD) @ np.diag(CONES) @ BRADFORD @ SRGB_TO_XYZ


# --- The forward model: coded sRGB to Lab -----------------------------------------------------------------
def decode(coded):
    """sRGB's decoding (IEC 61966-2-1), odd beyond zero."""
    v = np.abs(coded)
    return np.sign(coded) * np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def held(z, floor):
    return (z + np.hypot(z, floor)) / 2


def lab_of_linear(linear):
    """Linear sRGB, a row an area, to Lab D50; X, Y and Z are held above zero as those of real surfaces."""
    x, y, z = TO_RELATIVE_XYZ @ linear.T
    y = held(y, LEAST_Y)
    t = np.array([held(x, LEAST_SHARE * y), y, held(z, LEAST_SHARE * y)])
    delta = 6 / 29
    fx, fy, fz = np.where(t > delta**3, np.cbrt(t), t / (3 * delta**2) + 4 / 29)
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=1)


def forward(theta, coded, at):
    """Lab of areas, a row each, at parameters theta."""
    gain, bend, flare, slope_x, slope_y, cross, bow = np.split(theta, [BEND, FLARE, SLOPE_X, SLOPE_Y, CROSS, CURVE])
    tone = legval(2 * np.minimum(np.abs(coded), 1.1) - 1, [0, *bend])
    x, y = at[:, :1], at[:, 1:]
    light = x * slope_x + y * slope_y + np.hstack([x * x, x * y, y * y]) @ bow[:, None]
    linear = decode(coded) * np.exp(gain + tone + light) - flare
    mix = np.eye(3)
    for (to, other), share in zip(CROSS_TERMS, cross):
        mix[to, other] += share
        mix[to, to] -= share
    return lab_of_linear(linear @ mix.T)


def slopes(of, size, h=1e-5):
    """Derivatives of `of` by each of `size` entries around zero, in the last axis."""
    return np.stack([(of(h * e) - of(-h * e)) / (2 * h) for e in np.eye(size)], axis=-1)


# --- The prior over the parameters ------------------------------------------------------------------------
def prior_of(coding, chroma_scale):
    """Mean and covariance of the parameters under one coding."""
    k = CONSTANTS
    towards_luminance = sum(SRGB_TO_XYZ[1, other] * UNIT[CROSS + i] for i, (_, other) in enumerate(CROSS_TERMS))
    mean = coding["flare"] * UNIT[FLARE : FLARE + 3].sum(axis=0) + coding["saturation"] * towards_luminance
    mean[GAIN : GAIN + 3] = coding["log_gain"] + coding["log_gain_green"] * np.array([0.5, -1.0, 0.5])
    mean[BEND : BEND + 4] = coding["bends"]

    directions = [coding["saturation_sd"] * chroma_scale * towards_luminance]
    directions += list(k["cross_sd"] * chroma_scale * UNIT[CROSS:CURVE])
    directions += list(LIGHT_CURVE_SD * UNIT[CURVE:])
    directions += [sd * UNIT[BEND + j] for j, sd in enumerate(coding["bend_sds"])]
    for first, sd_of_all, sd_of_each in [
        (GAIN, k["exposure_sd"], coding["white_point_sd"]),
        (FLARE, k["flare_sd"], k["flare_tint_sd"]),
        (SLOPE_X, k["light_slope_sd"], k["tint_slope_sd"]),
        (SLOPE_Y, k["light_slope_sd"], k["tint_slope_sd"]),
    ]:
        channels = UNIT[first : first + 3]
        directions += [sd_of_all * channels.sum(axis=0), *(sd_of_each * channels)]
    for first in [SLOPE_X, SLOPE_Y]:
        directions.append(WARM_SLOPE_SD * (np.array([0.42, -0.13, -1.0]) @ UNIT[first : first + 3]))
    directions = np.array(directions)
    return mean, directions.T @ directions


def columns(photo):
    """Where the parameters of a photo stand among those of all; those of the camera stand with the first photo's."""
    return np.array([p if p in OF_CAMERA else PARAMETERS * photo + p for p in range(PARAMETERS)])


def over_photos(mean, cov, photos):
    """The same over the parameters of all photos."""
    of_all, size = np.zeros(PARAMETERS * photos), PARAMETERS * photos
    cov_of_all = np.zeros((size, size))
    for photo in range(photos):
        of_all[columns(photo)] = mean
        cov_of_all[np.ix_(columns(photo), columns(photo))] = cov
    return of_all, cov_of_all


# --- What the parameters cannot explain -------------------------------------------------------------------
def misfit(lab, exposed, by_coded, coded, chroma_scale):
    """Covariance of the Lab of all areas, three rows each, at common scale 1: misfit, rest and noise.

    `exposed` is what a mid grey would look like in the photo of each: areas of two photos are so much farther apart.
    """
    k = CONSTANTS
    apart = (lab[:, None] - lab) ** 2 + (exposed[:, None] - exposed) ** 2
    weighted = apart @ [k["misfit_lightness_weight"] ** 2, 1, 1]
    long = np.exp(-weighted / (2 * k["misfit_length"] ** 2))
    short = np.exp(-apart.sum(axis=2) / (2 * k["rest_length"] ** 2))
    chroma = np.minimum(np.sqrt(lab[:, 1] ** 2 + lab[:, 2] ** 2 + 1e-6), CHROMA_CAP)
    grown = chroma_scale * chroma / 30
    long_growth, short_growth = k["misfit_floor"] + grown, 1 + k["rest_growth"] * grown
    cov = np.kron(np.outer(long_growth, long_growth) * long, np.diag(np.square(k["misfit_sds"])))
    cov += np.kron(np.outer(short_growth, short_growth) * short, np.diag(np.square(k["rest_sds"])))

    at_an_end = 1 / (1 + np.exp(-(coded - 0.985) / 0.005)) + 1 / (1 + np.exp(-(0.015 - coded) / 0.005))
    coding_sds = k["coding_sd"] + k["clipped_coding_sd"] * at_an_end
    for i, (slope, sds) in enumerate(zip(by_coded, coding_sds)):
        own = slice(3 * i, 3 * i + 3)
        cov[own, own] += slope @ np.diag(sds**2) @ slope.T + k["private_sd"] ** 2 * np.eye(3)
    return cov


# --- One coding, linear around its most probable parameters -----------------------------------------------
class Coding:
    def __init__(self, coding, case):
        self.coding, self.coded, self.at, self.known = coding, case["coded"], case["at"], case["known"]
        self.photo = case["photo"]
        self.photos = self.photo.max() + 1
        if not self.known:
            k = CONSTANTS
            log_gain = coding["log_gain"] + k["unaided_log_gain"]
            white_point_sd = coding["white_point_sd"] * k["unaided_white_point"]
            self.coding = coding | {"log_gain": log_gain, "white_point_sd": white_point_sd}
        middle = CONSTANTS["chroma_scales"][len(CONSTANTS["chroma_scales"]) // 2]["scale"]
        self.prior_mean, prior_cov = self.prior(middle)
        self.theta = self.prior_mean
        self.linearise()
        k, size = 3 * self.known, np.inf if self.known else 0.0
        while size >= SETTLED:
            observed = self.covariance(middle)[:k, :k] + case["known_cov"]
            pulled = self.jacobian[:k].T @ np.linalg.solve(observed, case["target"] - self.mean[:k])
            step = self.prior_mean + prior_cov @ pulled - self.theta
            is_one = np.diag(prior_cov) > 0
            size = np.max(np.abs(step[is_one]) / np.sqrt(np.diag(prior_cov)[is_one]))
            self.theta = self.theta + step * min(1.0, LONGEST_STEP / size)
            self.linearise()

    def linearise(self):
        """Lab and its derivatives at theta, and the prior mean of Lab that follows from them."""
        size = PARAMETERS * self.photos
        self.lab, self.exposed = np.empty((2, len(self.coded), 3))
        self.by_coded, by_theta = np.empty((len(self.coded), 3, 3)), np.zeros((len(self.coded), 3, size))
        for photo in range(self.photos):
            there = np.flatnonzero(self.photo == photo)
            theta, coded, at = self.theta[columns(photo)], self.coded[there], self.at[there]
            self.lab[there] = forward(theta, coded, at)
            self.exposed[there] = lab_of_linear(MID_GREY * np.exp(-theta[None, GAIN : GAIN + 3]))
            self.by_coded[there] = slopes(lambda d: forward(theta, coded + d, at), 3)
            of_photo = slopes(lambda d: forward(theta + d, coded, at), PARAMETERS)
            by_theta[np.ix_(there, range(3), columns(photo))] = of_photo
        self.jacobian = by_theta.reshape(-1, size)
        self.mean = self.lab.ravel() + self.jacobian @ (self.prior_mean - self.theta)

    def prior(self, chroma_scale):
        return over_photos(*prior_of(self.coding, chroma_scale), self.photos)

    def covariance(self, chroma_scale):
        """Prior covariance of the Lab of all areas at common scale 1."""
        _, prior_cov = self.prior(chroma_scale)
        of_parameters = self.jacobian @ prior_cov @ self.jacobian.T
        return of_parameters + misfit(self.lab, self.exposed, self.by_coded, self.coded, chroma_scale)


# --- The mixture over codings and scales ------------------------------------------------------------------
def normalised(log_weights):
    return log_weights - np.logaddexp.reduce(log_weights)


def common_scales():
    """A Student-t as scales evenly apart in logarithm, with log weights."""
    degrees = CONSTANTS["tail_degrees"]
    scales = np.geomspace(*CONSTANTS["scale_range"], SCALES)
    return scales, normalised(-degrees * np.log(scales) - degrees / (2 * scales**2))


def log_density(residual, cov):
    """That of a Gaussian, up to a constant."""
    return -0.5 * (residual @ np.linalg.solve(cov, residual) + np.linalg.slogdet(cov)[1])


def log_evidence(residual, cov, greys, things):
    """Tempered: the greys' counts as its root, that of all others given the greys counts by itself; each thing once."""
    of_greys = log_density(residual[greys], cov[np.ix_(greys, greys)])
    of_others = log_density(residual, cov) - of_greys
    once = [3 * len(set(things[which])) / max(which.sum(), 1) for which in (greys, ~greys)]
    power_of_greys = once[0] / np.sqrt(max(once[0] * greys.sum(), 1))
    return CONSTANTS["evidence_power"] * (power_of_greys * of_greys + once[1] * of_others)


def two_of(values, weights):
    """Two values with weights that have the moments 0 to 3 of those given.

    They are the roots of the monic quadratic that is orthogonal to 1 and to x under the weights.
    """
    moments = [weights @ values**power for power in range(4)]
    c0, c1 = np.linalg.solve([moments[:2], moments[1:3]], np.negative(moments[2:]))
    nodes = np.roots([1, c1, c0])
    return nodes, np.linalg.solve([[1, 1], nodes], moments[:2])


def fit(case):
    """Mean, covariance and weights of the readings of a case."""
    k, n = 3 * case["known"], 3 * len(case["coded"])
    known, readings = slice(0, k), slice(k, n)
    scales, log_scale_weights = common_scales()
    codings = normalised(np.array([c["log_weight"] for c in CONSTANTS["codings"]]))
    chromas = normalised(np.array([c["log_weight"] for c in CONSTANTS["chroma_scales"]]))
    groups, log_weights = [], []
    for coding, of_coding in zip(CONSTANTS["codings"], codings):
        linear = Coding(coding, case)
        residual = case["target"] - linear.mean[known]
        for chroma, of_chroma in zip(CONSTANTS["chroma_scales"], chromas):
            cov = linear.covariance(chroma["scale"])
            evidence = [
                log_evidence(residual, scale**2 * cov[known, known] + case["known_cov"], case["greys"], case["things"])
                for scale in scales
            ]
            groups.append((linear.mean, residual, cov))
            log_weights.append(of_coding + of_chroma + log_scale_weights + evidence)
    components = []
    for (mean, residual, cov), weights in zip(groups, np.exp(normalised(np.ravel(log_weights))).reshape(-1, SCALES)):
        if weights.sum() < LEAST_GROUP:
            continue
        for squared, weight in zip(*two_of(scales**2, weights)):
            at_scale = squared * CONSTANTS["calibration"] ** 2 * cov
            gain = np.linalg.solve(at_scale[known, known] + case["known_cov"], at_scale[known, readings]).T
            posterior = at_scale[readings, readings] - gain @ at_scale[known, readings]
            pool = case["pool"]
            components.append((weight, pool @ (mean[readings] + gain @ residual), pool @ posterior @ pool.T))
    components.sort(key=lambda component: -component[0])
    weights, means, covs = (np.array(column) for column in zip(*components))
    weights /= weights.sum()
    mean = weights @ means
    off = means - mean
    return mean, np.tensordot(weights, covs, 1) + off.T @ np.diag(weights) @ off, weights


def prepared(case):
    """The case as arrays: slopes are measured from the middle of the known areas of each photo.

    A thing that is shown again has the same error of its known colour each time. A part's colour is the mean of its readings.
    """
    known, lab = case["known"], np.reshape(case["known_lab"], (-1, 3))
    count = len(case["coded"])
    photo, at = np.array(case.get("photo", [0] * count)), np.array(case["at"])
    for number in range(photo.max() + 1 if known else 0):
        at[photo == number] -= at[:known][photo[:known] == number].mean(axis=0)
    things = np.arange(known)
    for thing in case.get("shown_again", []):
        things[thing] = thing[0]
    variances, same = np.square(np.reshape(case["known_sd"], (-1, 3))), things[:, None] == things
    parts = case.get("parts", [[reading] for reading in range(count - known)])
    pool = np.zeros((len(parts), count - known))
    for part, readings in enumerate(parts):
        pool[part, readings] = 1 / len(readings)
    return {
        "known": known,
        "photo": photo,
        "coded": np.array(case["coded"]),
        "at": at,
        "target": lab.ravel(),
        # Things that are the same have the same standard deviations.
        "known_cov": np.einsum("ij,ia,ab->iajb", same, variances, np.eye(3)).reshape(3 * known, 3 * known),
        "greys": np.repeat(np.hypot(lab[:, 1], lab[:, 2]) < GREY_CHROMA, 3),
        "things": np.repeat(things, 3),
        "pool": np.kron(pool, np.eye(3)),
    }


def main():
    path = HERE / "light-vectors.json"
    cases = json.loads(path.read_text())
    for case in cases:
        print(case["name"])
        for name, values in zip(["mean", "cov", "weights"], fit(prepared(case))):
            before, case[name] = np.array(case[name]), np.round(values, 6).tolist()
            same = before.shape == values.shape
            moved = f"moved by {np.max(np.abs(values - before)):.1e} at most" if same else "has another size"
            print(f"  {name} {moved}")
    path.write_text(json.dumps(cases) + "\n")


if __name__ == "__main__":
    main()
