# Shared by the walks through the real window; to be read by them with ".". It takes PROGRAM and FOLDER from the call,
# opens a display of its own of $width by $height pixels, and puts pictures and files into $folder.
me=$(basename "$0" .sh)
root=$(cd "$(dirname "$0")/../.." && pwd)
program=$(realpath "${1:-$root/target/release/sameshot}")
folder=${2:-$(mktemp -d)/$me}
mkdir -p "$(dirname "$folder")"
mkdir "$folder"
folder=$(realpath "$folder")
for tool in Xvfb xdotool import jq; do
    command -v "$tool" >/dev/null || { echo "$me: $tool is missing" >&2; exit 1; }
done

fail() {
    echo "$me: FAILED at: $1" >&2
    picture failed || true
    echo "$me: pictures are in $folder" >&2
    exit 1
}

number=0
picture() {
    number=$((number + 1))
    import -window root "$folder/$(printf %02d $number)-$1.png"
}

# Waits up to 60 seconds until a command succeeds.
until_true() {
    what=$1
    shift
    tries=0
    until "$@" >/dev/null 2>&1; do
        tries=$((tries + 1))
        [ $tries -lt 300 ] || fail "$what"
        sleep 0.2
    done
}

title_is() { [ "$(xdotool getwindowname "$window" 2>/dev/null)" = "$1" ]; }
pause() { sleep 0.4; }
key() { xdotool key "$@"; pause; }
text() { xdotool type --delay 15 -- "$1"; pause; }
# shellcheck disable=SC2086 # A place is two words.
click() { xdotool mousemove $1; pause; xdotool click 1; pause; }

open_window() {
    "$program" "$@" >"$folder/window.log" 2>&1 &
    app=$!
    until_true "the window opens" xdotool search --onlyvisible --name Sameshot
    window=$(xdotool search --onlyvisible --name Sameshot | head -n 1)
    xdotool windowfocus "$window"
}

# The program must leave by itself, and with status 0.
quit_window() { key ctrl+q; until_closed; }
until_closed() {
    tries=0
    while kill -0 "$app" 2>/dev/null; do
        tries=$((tries + 1))
        [ $tries -lt 100 ] || fail "the window closes"
        sleep 0.1
    done
    wait "$app" || fail "the window closes without an error"
}

app='' screen=''
clean_up() {
    [ -z "$app" ] || kill "$app" 2>/dev/null || true
    [ -z "$screen" ] || kill "$screen" 2>/dev/null || true
}
trap clean_up EXIT

# A display of our own; Xvfb finds a free number and tells it. It must not start anew when a window closes: the next
# one would find no display for a moment.
Xvfb -noreset -displayfd 3 -screen 0 ${width}x${height}x24 -nolisten tcp 3>"$folder/display" 2>"$folder/xvfb.log" &
screen=$!
until_true "a display" grep -q '[0-9]' "$folder/display"
export DISPLAY=":$(cat "$folder/display")" SAMESHOT_DATA_DIR="$folder/data"
unset WAYLAND_DISPLAY
