#!/bin/sh
# A whole evening in the real window, on a display of its own that nobody sees, by mouse or by keys alone: a collection
# begun, a guide written, references built from three known figures, a tray sorted, a doubtful figure identified and
# kept, a listing judged, a report of each. After each step a picture is taken, for looking at, and what the step left
# on the disk is checked.
#
#   [BY=keys] [SIZE=1280x800] [SCALE=1] [THEME=dark] sh tests/walk/evening.sh [PROGRAM [FOLDER]]
#
# BY is keys or mouse; by mouse only text is typed, and what it must click is found by its accessible name (controls.py).
# SIZE is that of the display in pixels, SCALE the pixels of a point, THEME dark, light or high. PROGRAM, FOLDER and
# what else is needed: see walk.sh; besides, dbus at-spi2-core python3-gi. The same evening without a
# display is tests/window/evening.rs.
set -eu
# The names are told over a session bus, of which each walk has its own, in a folder of its own: of two in one folder the
# first to end would take the other's away.
[ -n "${WALK_BUS:-}" ] || XDG_RUNTIME_DIR=$(mktemp -d) WALK_BUS=own exec dbus-run-session -- sh "$0" "$@"
by=${BY:-keys} size=${SIZE:-1280x800} theme=${THEME:-dark}
width=${size%x*} height=${size#*x}
export WINIT_X11_SCALE_FACTOR="${SCALE:-1}"
. "$(dirname "$0")/helpers.sh"
. "$(dirname "$0")/hands.sh"
demo=$root/assets/demo
cp "$demo"/*.jpg "$demo"/skerry* "$demo"/*.case.json "$folder"
# The tray is found and sorted here, and the known figures come without shades.
rm "$folder/tray.case.json"
for name in bench lamp exchanged; do
    jq 'del(.references) | .zones |= map(select(.known.lab))' "$demo/$name.case.json" >"$folder/$name.case.json"
done
jq 'del(.references)' "$demo/listing.case.json" >"$folder/listing.case.json"
# The doubtful figure lies beside a known part, and comes with its shades and its guide.
cp "$demo/exchanged.jpg" "$folder/doubtful.jpg"
jq '.photo = "doubtful.jpg"' "$demo/exchanged.case.json" >"$folder/doubtful.case.json"
shades=$folder/mine.shades.json guide=$folder/small.guide.json

open_window
xdotool windowsize "$window" "$width" "$height"
until_true "the window tells its names" controls shows "Menu"
# The window begins dark; then come high contrast and light.
case $theme in
    high) menu View "Light, dark, high contrast*" F9 ;;
    light) for turn in 1 2; do menu View "Light, dark, high contrast*" F9; done ;;
esac
picture first-page

# A collection.
menu File "Collection*" F12
picture no-collection
menu File "Collection folder*" ctrl+shift+o
answer "Path of the folder with your records" "$folder/figures" Use
shown "*is not there yet*"
picture new-collection
back "Back to the first page"

# A guide.
menu File "New guide*" ctrl+shift+n
shown "Guide of a line without a name"
fill "Name of the line" "Skerry Rescue, small"
add() { use "*$1*"; one=$2; shift 2; for new in "$@"; do fill "New $one" "$new"; use "Add the new $one"; done; }
add Runs run only
add Slots slot torso arm-left
add Shades shade green/medium green/dark
add Moulds mould T1
use torso
fill "How to know it" "A seam runs down the back."
add Moulds mould A1
use "left arm"
picture guide-mould
add Characters character Keeper Diver
use "Made in only"
use "Character Keeper"
use "Made in only"
choose "shade of the torso" green/medium
choose "shade of the left arm" green/dark
fill "Note on the torso" "Seen on one only."
use "Character Diver"
choose "shade of the torso" green/dark
choose "shade of the left arm" green/medium
picture guide-character
fill "File of the guide" "$guide"
use "Save the guide"
until_true "the guide is saved" test -s "$guide"
jq -e '[.characters[].id] == ["Keeper", "Diver"] and .characters[0].issues[0].parts.torso ==
    {"mould": "T1", "note": "Seen on one only.", "shade": "green/medium"}' "$guide" >/dev/null ||
    fail "the guide says what was typed"
shown "The guide can be used.*"
picture guide-saved
menu File "Edit the guide*" ctrl+shift+g

# References from three known figures; what is certain of each is named as the demo's truth has it.
number_of_photo=0
for name in bench lamp exchanged; do
    number_of_photo=$((number_of_photo + 1))
    open_file "$name.case.json"
    [ -e "$shades" ] && choose_shades "$shades"
    menu View "Shade set*" F8
    picture "known-figure-$number_of_photo"
    # The left arm of the third is the doubtful one.
    jq -r '.parts[] | select(.known | not) | "\(.id)\t\(.shade)"' "$demo/$name.truth.json" |
        grep -v "^left arm.*dark" >"$folder/known.txt"
    while IFS="$(printf '\t')" read -r part shade <&4; do
        fill "Shade of $part" "$shade"
        fill "Specimen of $part" "$name $part"
    done 4<"$folder/known.txt"
    picture "known-figure-$number_of_photo-named"
    use "Add to the shades"
    shown "The shades are not saved yet."
    fill "Path of the shades file to write" "$shades"
    use "Save the shades"
    until_true "the shades of $name are saved" grep -q "$name " "$shades"
    sleep 2
    menu File Save ctrl+s
    until_true "$name is saved with them" grep -q mine.shades.json "$folder/$name.case.json"
    picture "known-figure-$number_of_photo-added"
done
jq -e '[.shades[] | .specimens | length] | sort == [2, 3, 10]' "$shades" >/dev/null || fail "every part is a specimen"
# Each lies where the truth has it, within four of its own standard deviations on each axis.
jq -e --slurpfile bench "$demo/bench.truth.json" --slurpfile lamp "$demo/lamp.truth.json" \
    --slurpfile exchanged "$demo/exchanged.truth.json" '
    {bench: $bench[0], lamp: $lamp[0], exchanged: $exchanged[0]} as $truth
    | all(.shades[].specimens[]; . as $specimen | (.id | capture("(?<photo>[a-z]+) (?<part>.+)")) as $of
        | ([$truth[$of.photo].parts[] | select(.id == $of.part) | .lab][0]) as $true
        | all(range(3); ($specimen.lab[.] - $true[.] | fabs) < 4 * $specimen.sd[.]))' "$shades" >/dev/null ||
    fail "the specimens lie where they are"

# A tray.
open_file tray.jpg
choose_shades "$shades"
menu View "Tray*" F3
picture tray-empty
menu "Card and tray" "Find the parts*" ctrl+f
until_true "the tray is sorted" controls shows "*May be left and right*"
gone "Sorting…"
picture tray-sorted
use "Part 5"
shown "Part 5: *"
picture tray-part
menu File Save ctrl+s
until_true "the tray is saved" test -s "$folder/tray.case.json"
jq -e --slurpfile truth "$demo/tray.truth.json" '
    (.readings | length) as $found | ([$truth[0].parts[] | select(.known | not)] | length) as $there
    | ($found - $there | fabs) <= 4' "$folder/tray.case.json" >/dev/null || fail "most parts are found"
report tray html "tray.jpg"

# A doubtful figure.
open_file doubtful.case.json
picture parts
menu View "Same plastic?*" F6
picture pairs
menu View "Figure*" F4
shown "left arm: does not belong*"
picture figure
use "torso: belongs*"
picture slot
report doubtful html "left arm: does not belong"
report doubtful pdf
menu File "Add to collection*" ctrl+d
shown "New record"
fill Name "The one from the fair"
fill Price "4 EUR"
picture new-record
use "Add it"
record=$folder/figures/the-one-from-the-fair.record.json
until_true "the record is added" test -s "$record"
jq -e '.name == "The one from the fair" and (.findings | length) == 1' "$record" >/dev/null ||
    fail "the record holds the finding"
shown "1 of 1 record"
sleep 1
picture collection
use Table
picture collection-table
use Totals
picture collection-totals
report figures html "The one from the fair"
back "Back to the photo"

# What there is to look at besides.
open_file bench.case.json
menu View "Magnifier*" l
look_at_mark
picture magnifier
menu View "Magnifier*" l
menu View "Light across the photo*" u
picture light
menu View "Light across the photo*" u
menu View "Shade map*" h
sleep 6
picture shade-map
menu View "Shade map*" h
menu View "Compare with*" ctrl+shift+c
answer "Path of the file" "$folder/exchanged.case.json" Compare
shown "Right: exchanged.case.json"
sleep 2
picture two-photos
back "Close the comparison"

# A listing.
open_file listing.case.json
choose_shades "$shades"
picture listing
menu View "Photo*" F7
shown "Copy the text for the seller"
picture listing-photo
report listing html "listing.jpg"
menu View "Keys*" F1
picture keys
key Escape
menu "Card and tray" "Card values*" ctrl+k
picture card-values
key Escape
menu File Save ctrl+s
quit_window

# The next evening: the window looks as it was left, and what was opened last is offered.
ask_for_names
open_window
until_true "the window tells its names" controls shows "Opened last"
picture next-evening
grep -q theme "$folder/data/settings.json" 2>/dev/null || [ "$theme" = dark ] || fail "the theme is kept"
quit_window

# Each case is measured by the command line as it was saved.
"$program" measure --json "$folder"/*.case.json >"$folder/results.jsonl" || fail "every case is measured"
echo "$me: every step worked by $by; $number pictures are in $folder"
