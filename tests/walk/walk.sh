#!/bin/sh
# A walk through the real window with a real mouse and real keys, on a display of its own that nobody sees:
# open the demo's bench photo, zoom, give the card's values, mark its steps, mark two parts, choose the shades,
# read the call, save, quit, and open the case again. What was saved is measured by the command line and held
# against the demo's truth; the case written by the reopened window must be the same to the byte.
#
#   sh tests/walk/walk.sh [PROGRAM [FOLDER]]
#
# PROGRAM is the built sameshot (target/release/sameshot unless told otherwise). FOLDER gets a picture of the
# screen after each step, for looking at, and the files of the walk; it must not exist yet. Needs Xvfb, xdotool,
# ImageMagick and jq (Debian: xvfb xdotool imagemagick jq) besides what the window needs, and an OpenGL driver
# that works without a card (libgl1-mesa-dri). Ends with status 0 when every step worked, else 1 and the step.
set -eu

# The window without a window manager is exactly this large, so that its parts have known places, in pixels:
# the bench on which the photo lies, and the buttons that are clicked.
width=1280 height=800
bench_left=0 bench_top=37 bench_width=876 bench_height=608
mark_the_card="940 18"
middle="640 400"
# The fitted photo fills this share of the bench; its size in pixels.
fit_share=0.96
photo_width=4032 photo_height=3024
. "$(dirname "$0")/helpers.sh"

# Where a point of the photo lies on the screen while the whole photo is shown.
place() {
    awk -v x="$1" -v y="$2" -v w=$photo_width -v h=$photo_height -v l=$bench_left -v t=$bench_top \
        -v bw=$bench_width -v bh=$bench_height -v share=$fit_share 'BEGIN {
            scale = (bw / w < bh / h ? bw / w : bh / h) * share
            printf "%d %d\n", l + bw / 2 + (x - w / 2) * scale + 0.5, t + bh / 2 + (y - h / 2) * scale + 0.5
        }'
}

# Drags from a place of the screen to the right by so many pixels.
# shellcheck disable=SC2086
drag() {
    xdotool mousemove $1; pause
    xdotool mousedown 1; pause
    for step in 1 2 3 4; do
        xdotool mousemove_relative -- $(($2 / 4)) 0
        sleep 0.1
    done
    pause
    xdotool mouseup 1; pause
}

# Zooms in by the wheel; the place under the pointer stays where it is.
# shellcheck disable=SC2086
zoom_in_at() {
    xdotool mousemove $1; pause
    xdotool keydown ctrl
    for notch in 1 2 3 4 5 6; do
        xdotool click 4
        sleep 0.15
    done
    xdotool keyup ctrl
    sleep 1
}

demo=$root/assets/demo
cp "$demo/bench.jpg" "$demo/skerry-sea-green.shades.json" "$folder"
case_file=$folder/bench.case.json
step_centre() { jq -r --arg id "$1" '.zones[] | select(.id == $id) | .shape.circle.centre | "\(.[0]) \(.[1])"' "$demo/bench.case.json"; }
part_centre() { jq -r --arg id "$1" '.readings[] | select(.id == $id) | .shape.polygon | transpose | map(add / length) | "\(.[0]) \(.[1])"' "$demo/bench.case.json"; }
# shellcheck disable=SC2046
step_place() { place $(step_centre "$1"); }
# shellcheck disable=SC2046
part_place() { place $(part_centre "$1"); }

# 1. Open.
open_window "$folder/bench.jpg"
until_true "the photo is read" title_is "bench.jpg – Sameshot"
sleep 2
picture opened

# 2. The values of this card, in the place of the printed card's.
key ctrl+k
click "$middle"
key ctrl+a
jq -r '.zones[].known | select(.lab) | (.lab + .sd) | map(tostring) | join(" ")' "$demo/bench.case.json" >"$folder/card.txt"
while read -r line; do
    text "$line"
    key Return
done <"$folder/card.txt"
picture card-values
# From the text past the field for a file to the button that takes the values.
key Tab
key Tab
key space
picture card-values-taken

# 3. The card's first and last step; those between come by themselves.
click "$mark_the_card"
drag "$(step_place 'step 1')" 16
drag "$(step_place 'step 6')" 16
until_true "marks make the case unsaved" title_is "bench.jpg (unsaved) – Sameshot"
picture card-marked

# 4. Two parts, each close up.
for part in "left arm" "loose leg"; do
    spot=$(part_place "$part")
    zoom_in_at "$spot"
    key c
    drag "$spot" 48
    key Return
    key ctrl+a
    text "$part"
    key Return
    picture "marked-$(echo "$part" | tr ' ' -)"
    key Escape
    key 0
done

# 5. The shades. There is no file dialog on this display, so that the field for a path stands in.
key ctrl+r
sleep 2
key ctrl+a
text "$folder/skerry-sea-green.shades.json"
picture shades-path
key Return
sleep 4
picture call
key F6
picture pairs
key F7
picture photo
key F5

# 6. Save and leave.
key ctrl+s
until_true "the case is saved" test -s "$case_file"
until_true "the title says so" title_is "bench.case.json – Sameshot"
picture saved
quit_window

# 7. What was saved, by the command line: the steps lie on the card's steps, and every true colour lies within
# four standard deviations of what was measured, axis by axis.
"$program" measure --json "$case_file" >"$folder/result.json" || fail "the saved case is measured"
jq -e '(.zones | length) == 6 and ([.readings[].id] == ["left arm", "loose leg"])
    and .references == "skerry-sea-green.shades.json"' "$case_file" >/dev/null || fail "all marks are saved"
jq -e --slurpfile demo "$demo/bench.case.json" '
    [(.zones | sort_by(.id)), [$demo[0].zones[] | select(.known.lab) | .shape.circle.centre]] | transpose
    | all((.[0].shape.circle.centre[0] - .[1][0] | fabs) < 40 and (.[0].shape.circle.centre[1] - .[1][1] | fabs) < 40)
' "$case_file" >/dev/null || fail "the steps lie on the card"
jq -e --slurpfile truth "$demo/bench.truth.json" '
    .light.zones == 6 and (.readings | length) == 2 and (.pairs | length) == 1
    and all(.readings[]; . as $reading
        | (.call | type) == "string" and (.shades | length) == 4
        and ([$truth[0].parts[] | select(.id == $reading.id) | .lab] | length) == 1
        and ([$truth[0].parts[] | select(.id == $reading.id) | .lab][0] as $lab
            | all(range(3); (($reading.lab[.] - $lab[.]) | fabs) < 4 * ($reading.cov[.][.] | sqrt))))
' "$folder/result.json" >/dev/null || fail "the measured colours agree with the truth"

# 8. Open the case again: everything is there, and saving it elsewhere gives the same file.
open_window "$case_file"
until_true "the case is read" title_is "bench.case.json – Sameshot"
sleep 4
picture reopened
key ctrl+shift+s
sleep 2
key ctrl+a
text "$folder/again.case.json"
key Return
until_true "the case is saved again" test -s "$folder/again.case.json"
cmp "$case_file" "$folder/again.case.json" || fail "the reopened case is the saved one"
quit_window

echo "walk: every step worked; $number pictures are in $folder"
