#!/bin/sh
# A whole evening in the real window by keys alone, on a display of its own that nobody sees: a collection begun, a
# doubtful figure weighed with its guide and kept, a report of it, a second photo beside the first, the magnifier, a tray
# found and sorted, a listing judged. It leaves a picture of every step, for looking at.
#
#   [SIZE=1024x640] [SCALE=1] [THEME=dark] sh tests/walk/evening.sh [PROGRAM [FOLDER]]
#
# SIZE is that of the display in pixels, SCALE the pixels of a point, THEME dark, light or high. PROGRAM, FOLDER and
# what else is needed: see walk.sh. The same evening, looked at by its words, is tests/evening_window.rs.
set -eu
size=${SIZE:-1024x640} theme=${THEME:-dark}
width=${size%x*} height=${size#*x}
export WINIT_X11_SCALE_FACTOR="${SCALE:-1}"
. "$(dirname "$0")/helpers.sh"
cp "$root"/assets/demo/* "$folder"
# The tray is found and sorted here.
rm -f "$folder/tray.case.json"

# Answers the question for a path, which stands where there is no file dialog.
answer() {
    sleep 1.5
    key ctrl+a
    text "$1"
    key Return
}
# Opens a file whose title is to be read afterwards.
open_file() {
    key ctrl+l
    text "$folder/$1"
    key Return
    until_true "$1 is read" title_is "$1 – Sameshot"
    sleep 3
}
seen() { key "$1"; sleep 1; picture "$2"; }

open_window
xdotool windowsize "$window" "$width" "$height"
sleep 1
# The window begins dark; its key goes on to high contrast and then to light.
case $theme in
    high) key F9 ;;
    light) key F9; key F9 ;;
esac
picture first-page

seen F12 no-collection
key ctrl+shift+o
answer "$folder/figures"
sleep 1
picture new-collection
key Escape

open_file exchanged.case.json
seen F5 parts
key period
picture mark-selected
seen F4 figure
seen F6 pairs
seen F7 photo
seen F8 shades
key ctrl+d
sleep 1
picture new-record
# From the form's first field to the button that adds it.
tries=0
until test -s "$folder/figures/exchanged.record.json"; do
    tries=$((tries + 1))
    [ $tries -lt 40 ] || fail "the record is added"
    key Tab
    # Fifteen controls stand before it.
    [ $tries -lt 16 ] || key space
done
sleep 2
picture collection
key Escape

key ctrl+p
answer "$folder/exchanged.pdf"
until_true "the report is there" test -s "$folder/exchanged.pdf"
sleep 1
picture report-written

open_file bench.case.json
key l
key period
key Right
key Left
picture magnifier
key l
key ctrl+z
key ctrl+shift+c
answer "$folder/exchanged.case.json"
sleep 4
picture two-photos
key Escape
seen ctrl+shift+g guide
key ctrl+shift+g

open_file tray.jpg
key ctrl+r
answer "$folder/skerry-sea-green.shades.json"
sleep 1
key F3
picture tray-empty
key ctrl+f
sleep 25
picture tray-sorted
key ctrl+s
until_true "the tray is saved" test -s "$folder/tray.case.json"

open_file listing.case.json
picture listing
seen F7 listing-photo
seen F1 keys
key Escape
key ctrl+k
sleep 1
picture card-values
key Escape
quit_window

for end in pdf html; do
    start=$(date +%s%N)
    "$program" report "$folder/tray.case.json" --out "$folder/tray.$end"
    echo "$me: report of the tray as $end: $((($(date +%s%N) - start) / 1000000)) ms"
done
echo "$me: every step worked; $number pictures are in $folder"
