#!/bin/sh
# Kills the real window (signal 9) at random moments while marks are drawn, and looks what the next start offers: every
# mark that was drawn a second and a half before the kill must be there again, and the case on the disk as it was saved.
#
#   [TIMES=20] [SEED=1] sh tests/walk/kill.sh [PROGRAM [FOLDER]]
#
# PROGRAM, FOLDER and what else is needed: see walk.sh and evening.sh. The same at the level of the library, with 200
# kills, is tests/program/kill.rs.
set -eu
[ -n "${WALK_BUS:-}" ] || XDG_RUNTIME_DIR=$(mktemp -d) WALK_BUS=own exec dbus-run-session -- sh "$0" "$@"
width=1280 height=800 by=keys
. "$(dirname "$0")/helpers.sh"
. "$(dirname "$0")/hands.sh"
cp "$root"/assets/demo/bench.jpg "$root"/assets/demo/bench.case.json "$folder"
jq 'del(.references, .guide) | .readings = [] | .zones |= map(select(.known.lab))' "$root/assets/demo/bench.case.json" \
    >"$folder/bench.case.json"
cp "$folder/bench.case.json" "$folder/before.json"
now_ms() { date +%s%3N; }
random=${SEED:-1}
# Draws a number below $1 from a seed of our own.
draw_below() { random=$(((random * 1103515245 + 12345) % 2147483648)); luck=$((random / 65536 % $1)); }
copied() { cat "$folder"/data/autosave/*.json 2>/dev/null | jq -s 'map(.case.readings | length) | max // 0'; }

kills=0 offered=0 marks=0
while [ $kills -lt "${TIMES:-20}" ]; do
    ask_for_names
    open_window "$folder/bench.case.json"
    until_true "the window tells its names" controls shows "Photo *"
    sleep 1
    draw_below 6000
    end=$(($(now_ms) + 300 + luck))
    drawn='' count=0
    while [ "$(now_ms)" -lt $end ]; do
        xdotool key n
        count=$((count + 1))
        drawn="$drawn $(now_ms)"
        sleep 0.3
    done
    kill -9 "$app"
    killed=$(now_ms)
    wait "$app" 2>/dev/null || true
    app='' kills=$((kills + 1))
    cmp -s "$folder/bench.case.json" "$folder/before.json" || fail "the case is as it was saved"
    due=0
    for at in $drawn; do [ $((killed - at)) -lt 1500 ] || due=$((due + 1)); done
    kept=$(copied)
    [ "$kept" -ge $due ] || fail "$kept marks are kept of $due that were due (kill $kills)"
    [ "$kept" -le $count ] || fail "no more marks are kept than were drawn (kill $kills)"

    ask_for_names
    open_window
    if [ "$kept" -gt 0 ]; then
        until_true "the work is offered" controls shows "There is unsaved work"
        use "Go on with bench"
        until_true "it is gone on with" controls shows "*, $kept part*. Not saved yet."
        offered=$((offered + 1)) marks=$((marks + kept))
    fi
    key ctrl+q
    [ "$kept" -eq 0 ] || { shown "Leave without saving"; use "Leave without saving"; }
    until_closed
    app=''
    [ "$(copied)" -eq 0 ] || fail "what nobody wants is not offered again (kill $kills)"
    rm -f "$folder/data/recent.json"
done
echo "$me: killed $kills times; work was offered $offered times and held $marks marks, none that was due is lost"
