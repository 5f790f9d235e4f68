#!/bin/sh
# How fast the real window is, on a display of its own that nobody sees and with an OpenGL driver that works without a
# card: frame times while a photo of 50 megapixels with 40 marks is moved, start to the first picture of 12 megapixels,
# the processor while nothing happens, memory after twenty photos of 50 megapixels.
#
#   sh tests/walk/speed.sh [PROGRAM [FOLDER]]
#
# See walk.sh for what is needed.
set -eu
width=1280 height=800
. "$(dirname "$0")/helpers.sh"

# A photo of 8660 by 5773 pixels with detail everywhere, and 40 marks.
convert -size 2165x1443 plasma:tan-seagreen -attenuate 0.4 +noise Gaussian -resize 400% -crop 8660x5773+0+0 +repage \
    -quality 90 "$folder/big.jpg" || fail "the large photo is made"
jq -n '{sameshot_case: 1, photo: "big.jpg", readings: [range(40) | {id: "part \(. + 1)", shape: {circle:
    {centre: [600 + 820 * (. % 10), 900 + 1200 * (. / 10 | floor)], radius: 90}}}]}' >"$folder/big.case.json"

# The share of lines below, of numbers one a line.
quantile() { sort -n | awk -v q="$1" '{v[NR] = $1} END {i = int(q * NR); print v[i < 1 ? 1 : i]}'; }
load() { echo "$me: load $(cut -d' ' -f1-3 /proc/loadavg)"; }
# Ticks of the processor that the window has taken so far.
ticks() { awk '{print $14 + $15}' "/proc/$app/stat"; }

load
export SAMESHOT_FRAME_TIMES="$folder/start.txt"
open_window "$root/assets/demo/bench.case.json"
sleep 6
before=$(ticks)
sleep 10
echo "$me: processor with a photo open and nothing happening: $(($(ticks) - before)) ticks of 10 ms in 10 s (1 % is 10)"
quit_window
echo "$me: start to the first picture of 12 megapixels: $(awk '$3 == 1 {print $1; exit}' "$folder/start.txt") ms"

load
export SAMESHOT_FRAME_TIMES="$folder/pan.txt"
open_window "$folder/big.case.json"
until_true "the case is read" title_is "big.case.json – Sameshot"
sleep 12
from=$(wc -l <"$folder/pan.txt")
# The whole photo, then pixel by pixel; the mouse moves faster than any screen can follow.
moves() { awk 'BEGIN {for (i = 0; i < 800; i += 2) printf "mousemove %d %d sleep 0.004 ", 200 + i % 400, 200 + i % 300}'; }
for zoom in 0 1; do
    key $zoom
    sleep 2
    # shellcheck disable=SC2046
    xdotool mousemove 200 200 mousedown 2 $(moves) mouseup 2
done
sleep 1
quit_window
awk -v from="$from" 'NR > from' "$folder/pan.txt" >"$folder/moved.txt"
echo "$me: frames while moving: $(wc -l <"$folder/moved.txt")"
for q in 0.5 0.95 0.99; do
    work=$(awk '{print $2}' "$folder/moved.txt" | quantile $q)
    between=$(awk 'before && $1 - before < 300 {print $1 - before} {before = $1}' "$folder/moved.txt" | quantile $q)
    echo "$me: $q of all frames took less than $work ms of work, and the next began within $between ms"
done

load
unset SAMESHOT_FRAME_TIMES
# Under a name beside which no case lies.
ln "$folder/big.jpg" "$folder/0.jpg"
open_window "$folder/0.jpg"
until_true "the first photo is read" title_is "0.jpg – Sameshot"
photo=0
while [ $photo -lt 20 ]; do
    photo=$((photo + 1))
    ln "$folder/big.jpg" "$folder/$photo.jpg"
    key ctrl+l
    text "$folder/$photo.jpg"
    key Return
    until_true "photo $photo is read" title_is "$photo.jpg – Sameshot"
    sleep 2
done
echo "$me: after twenty photos of 50 megapixels: $(awk '/VmHWM/ {print $2 / 1024}' "/proc/$app/status") MB at most, \
$(awk '/VmRSS/ {print $2 / 1024}' "/proc/$app/status") MB now"
quit_window
