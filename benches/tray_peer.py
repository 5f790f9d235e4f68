"""What the shade map is held against: CIEDE2000 of every pixel to three shades, by scikit-image.

    python3 -m venv /tmp/peer && /tmp/peer/bin/pip install scikit-image numpy pillow
    /tmp/peer/bin/python benches/tray_peer.py

Only the three differences are timed, not the conversion to Lab, which the map does as well.
"""

import time
from pathlib import Path

import numpy as np
from PIL import Image
from skimage.color import deltaE_ciede2000, rgb2lab

photo = Path(__file__).parent.parent / "assets/demo/bench.jpg"
lab = rgb2lab(np.asarray(Image.open(photo)), illuminant="D50")
shades = [(56.0, -16.0, 7.0), (52.0, -17.5, 7.5), (47.0, -17.0, 8.0)]
start = time.process_time()
for shade in shades:
    deltaE_ciede2000(lab, np.broadcast_to(shade, lab.shape))
seconds = time.process_time() - start
print(f"{lab.shape[0] * lab.shape[1] / 1e6:.1f} megapixels, three shades: {seconds:.2f} s of processor time")
