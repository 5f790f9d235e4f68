"""Makes the sample photos beside this file and those of ../bad-photos.

Needs PyPI pillow 13.0, pillow-heif 1.8 (libheif 1.23) and colour-science 0.4.7. Run once; the files are
committed, so the tests need none of this.
"""
import csv
import struct
import zlib
from pathlib import Path

import colour
import numpy as np
import pillow_heif
from PIL import Image

HERE = Path(__file__).parent
BAD = HERE.parent / "bad-photos"
pillow_heif.register_heif_opener()


# --- ICC profiles, written by hand (ICC.1:2001-04 and ICC.1:2022) -----------------------------------------
def s15(v):
    return struct.pack(">i", round(float(v) * 65536))


def xyz_tag(xyz):
    return b"XYZ \0\0\0\0" + b"".join(s15(v) for v in xyz)


def curve_gamma(gamma):
    return b"curv\0\0\0\0" + struct.pack(">IH", 1, round(gamma * 256))


def curve_table(f, n):
    table = np.round(f(np.linspace(0, 1, n)) * 65535).astype(">u2").tobytes()
    return b"curv\0\0\0\0" + struct.pack(">I", n) + table


def curve_srgb():
    return b"para\0\0\0\0\0\3\0\0" + b"".join(s15(v) for v in (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045))


def text_tag(text):
    return b"text\0\0\0\0" + text.encode() + b"\0"


def desc_tag(text):
    raw = text.encode() + b"\0"
    return b"desc\0\0\0\0" + struct.pack(">I", len(raw)) + raw + b"\0" * (4 + 4 + 2 + 1 + 67)


def profile(space, pcs, tags):
    head = 128 + 4 + 12 * len(tags)
    table, body = b"", b""
    for name, data in tags:
        data += b"\0" * (-len(data) % 4)
        table += name + struct.pack(">II", head + len(body), len(data))
        body += data
    size = head + len(body)
    header = struct.pack(">I4sI4s4s4s", size, b"\0\0\0\0", 0x02400000, b"mntr", space, pcs)
    header += struct.pack(">6H", 2024, 1, 1, 0, 0, 0) + b"acsp" + b"\0" * (68 - 40)
    header += b"".join(s15(v) for v in D50_ICC)
    header += b"\0" * (128 - len(header))
    return header + struct.pack(">I", len(tags)) + table + body


D50_ICC = (0.9642, 1.0, 0.8249)
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def adapted(matrix):
    white = matrix @ np.ones(3)
    gain = np.diag((BRADFORD @ D50_ICC) / (BRADFORD @ white))
    return np.linalg.inv(BRADFORD) @ gain @ BRADFORD @ matrix


def matrix_profile(name, space, curves):
    columns = adapted(colour.RGB_COLOURSPACES[space].matrix_RGB_to_XYZ).T
    tags = [(b"desc", desc_tag(name)), (b"cprt", text_tag("no copyright")), (b"wtpt", xyz_tag(D50_ICC))]
    tags += [(tag, xyz_tag(c)) for tag, c in zip((b"rXYZ", b"gXYZ", b"bXYZ"), columns)]
    tags += [(tag, curves) for tag in (b"rTRC", b"gTRC", b"bTRC")]
    return profile(b"RGB ", b"XYZ ", tags)


def lab_of(space, codes):
    """Lab D50 of coded values 0..1, by colour-science and by Bradford's adaptation."""
    rgb = colour.RGB_COLOURSPACES[space]
    linear = rgb.cctf_decoding(codes)
    xyz = linear @ rgb.matrix_RGB_to_XYZ.T
    xyz = xyz / (rgb.matrix_RGB_to_XYZ @ np.ones(3)) * 1.0
    white = rgb.matrix_RGB_to_XYZ @ np.ones(3)
    xyz = xyz * white
    d50 = colour.xy_to_XYZ(colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"])
    xyz = colour.adaptation.chromatic_adaptation_VonKries(xyz, white, d50, transform="Bradford")
    return colour.XYZ_to_Lab(xyz, colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"])


def table_profile(name, space, grid, tag):
    """RGB -> Lab by a table (mft2, Lab of version 2: 100 = 0xFF00, a and b offset by 128)."""
    axis = np.linspace(0, 1, grid)
    codes = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), -1).reshape(-1, 3)
    lab = lab_of(space, codes)
    encoded = np.stack([lab[:, 0] * 652.8, (lab[:, 1] + 128) * 256, (lab[:, 2] + 128) * 256], -1)
    clut = np.clip(np.round(encoded), 0, 65535).astype(">u2").tobytes()
    straight = struct.pack(">HH", 0, 65535) * 3
    data = b"mft2\0\0\0\0" + bytes([3, 3, grid, 0])
    data += b"".join(s15(v) for v in (1, 0, 0, 0, 1, 0, 0, 0, 1)) + struct.pack(">HH", 2, 2)
    data += straight + clut + straight
    tags = [(b"desc", desc_tag(name)), (b"cprt", text_tag("no copyright")), (b"wtpt", xyz_tag(D50_ICC)), (tag, data)]
    return profile(b"RGB ", b"Lab ", tags)


def grey_profile(name, gamma):
    tags = [(b"desc", desc_tag(name)), (b"cprt", text_tag("no copyright")), (b"wtpt", xyz_tag(D50_ICC))]
    return profile(b"GRAY", b"XYZ ", [*tags, (b"kTRC", curve_gamma(gamma))])


def srgb_decode(v):
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


PROFILES = {
    "p3-curve.icc": ("Display P3", matrix_profile("wide space with a formula", "Display P3", curve_srgb())),
    "p3-points.icc": ("Display P3", matrix_profile("wide space with points", "Display P3", curve_table(srgb_decode, 1024))),
    "adobe.icc": ("Adobe RGB (1998)", matrix_profile("space of gamma 2.2", "Adobe RGB (1998)", curve_gamma(563 / 256))),
    "srgb.icc": ("sRGB", matrix_profile("plain space", "sRGB", curve_srgb())),
    "p3-table.icc": ("Display P3", table_profile("space with a table", "Display P3", 18, b"A2B1")),
    "p3-table-perceptual.icc": ("Display P3", table_profile("space with one table", "Display P3", 6, b"A2B0")),
}


def write_profiles():
    rng = np.random.default_rng(1)
    # Multiples of 51 fall on the nodes of the tables, so that no way of interpolating plays a part.
    (HERE / "grey-1.8.icc").write_bytes(grey_profile("grey of gamma 1.8", 1.8))
    codes = np.concatenate([[[0, 0, 0], [255, 255, 255], [102, 102, 102]], rng.integers(0, 6, (17, 3)) * 51])
    with open(HERE / "profile-lab.csv", "w", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(["profile", "red", "green", "blue", "L", "a", "b"])
        for name, (space, data) in PROFILES.items():
            (HERE / name).write_bytes(data)
            for code, lab in zip(codes, lab_of(space, codes / 255)):
                out.writerow([name, *code, *(f"{v:.4f}" for v in lab)])


# --- HEIC -------------------------------------------------------------------------------------------------
def gradient(width, height, levels=255.0):
    x, y = np.meshgrid(np.linspace(0, 1, width), np.linspace(0, 1, height))
    rgb = np.stack([0.15 + 0.6 * x, 0.2 + 0.5 * y, 0.3 + 0.3 * x * y], -1)
    # A soft red spot in the upper left corner, without edges, where decoders spread colour differently.
    spot = np.exp(-((x * 1.5) ** 2 + (y * 1.5) ** 2))[..., None]
    rgb = (1 - spot) * rgb + spot * np.array((0.75, 0.25, 0.2))
    return np.round(rgb * levels)


def write_heic():
    plain = Image.fromarray(gradient(96, 64).astype(np.uint8))
    plain.save(HERE / "gradient.heic", quality=90, chroma=420)
    plain.save(HERE / "gradient-full-colour.heic", quality=90, chroma=444)
    plain.save(HERE / "gradient-p3.heic", quality=90, chroma=420, icc_profile=PROFILES["p3-curve.icc"][1])
    exif = Image.Exif()
    exif[0x0112] = 6
    exif[0x010F] = "Ferrowick"
    plain.save(HERE / "gradient-turned.heic", quality=90, exif=exif.tobytes())
    wide = gradient(96, 64, 65535.0).astype(np.uint16)
    heif = pillow_heif.from_bytes(mode="RGB;16", size=(96, 64), data=wide.tobytes())
    heif.save(HERE / "gradient-10-bit.heic", quality=90, bit_depth=10)
    for path in sorted(HERE.glob("*.heic")):
        image = Image.open(path).convert("RGB")
        image.save(path.with_suffix(".heic.png"), optimize=True)


# --- JPEG that no Rust encoder here makes -----------------------------------------------------------------
def write_jpeg():
    plain = Image.fromarray(gradient(96, 64).astype(np.uint8))
    noise = np.random.default_rng(2).normal(0, 8, (64, 96, 3))
    grainy = Image.fromarray(np.clip(gradient(96, 64) + noise, 0, 255).astype(np.uint8))
    grainy.save(HERE / "progressive.jpg", quality=85, progressive=True, subsampling="4:2:0")
    grainy.save(HERE / "restarts.jpg", quality=85, subsampling="4:2:2", restart_marker_blocks=2)
    grainy.save(HERE / "full-colour.jpg", quality=85, subsampling="4:4:4")
    plain.convert("CMYK").save(BAD / "printing-inks.jpg", quality=85)
    plain.convert("CMYK").save(BAD / "printing-inks.tif", compression="tiff_lzw")
    palette = plain.quantize(32)
    palette.save(HERE / "palette.png", optimize=True)
    palette.convert("RGB").save(HERE / "palette.png.png", optimize=True)
    Image.fromarray(np.asarray(plain)[:32, :32]).save(BAD / "a.gif")


# --- bad files --------------------------------------------------------------------------------------------
def png_chunk(name, body):
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png(width, height, chunks):
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = b"".join(png_chunk(name, data) for name, data in [(b"IHDR", header), *chunks, (b"IEND", b"")])
    return b"\x89PNG\r\n\x1a\n" + body


def write_bad():
    jpeg = (HERE / "full-colour.jpg").read_bytes()
    (BAD / "empty.jpg").write_bytes(b"")
    (BAD / "text.jpg").write_text("This is a letter, not a photo.\n")
    (BAD / "page.jpg").write_text("<!DOCTYPE html><html><body>Not found</body></html>\n")
    (BAD / "zeros.jpg").write_bytes(b"\0" * 4096)
    (BAD / "cut.jpg").write_bytes(jpeg[: len(jpeg) * 6 // 10])
    damaged = bytearray(jpeg)
    damaged[len(jpeg) // 2 : len(jpeg) // 2 + 40] = b"\xff\xc0" * 20
    (BAD / "damaged.jpg").write_bytes(bytes(damaged))
    frame = jpeg.index(b"\xff\xc0")
    huge = bytearray(jpeg)
    huge[frame + 5 : frame + 9] = struct.pack(">HH", 60000, 60000)
    (BAD / "60000x60000.jpg").write_bytes(bytes(huge))
    (BAD / "60000x60000.png").write_bytes(png(60000, 60000, [(b"IDAT", zlib.compress(b"\0" * 1000))]))
    # A colour profile that unpacks to 16 MiB, a thousand times its size.
    bomb = b"bomb\0\0" + zlib.compress(b"\0" * (16 << 20), 9)
    small = zlib.compress(b"".join(b"\0" + bytes([90, 120, 100] * 8) for _ in range(8)))
    (BAD / "profile-bomb.png").write_bytes(png(8, 8, [(b"iCCP", bomb), (b"IDAT", small)]))
    broken = PROFILES["p3-curve.icc"][1][:200]
    (BAD / "broken-profile.png").write_bytes(
        png(8, 8, [(b"iCCP", b"broken\0\0" + zlib.compress(broken)), (b"IDAT", small)])
    )
    (BAD / "one-pixel.png").write_bytes(png(1, 1, [(b"IDAT", zlib.compress(b"\0\x5a\x78\x64"))]))
    (BAD / "no-pixels.png").write_bytes(png(0, 7, [(b"IDAT", zlib.compress(b""))]))
    entries = struct.pack("<8sIIIIIHH", b"\0" * 8, 0, 0, 0, 0, 0, 0, 0)
    dng = b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", 2)
    dng += struct.pack("<HHII", 0x00FE, 4, 1, 1) + struct.pack("<HHI4B", 0xC612, 1, 4, 1, 4, 0, 0)
    (BAD / "raw.dng").write_bytes(dng + struct.pack("<I", 0) + entries)


if __name__ == "__main__":
    write_profiles()
    write_heic()
    write_jpeg()
    write_bad()
    for path in sorted([*HERE.iterdir(), *BAD.iterdir()]):
        print(path.stat().st_size, path.name)
