# What a person does in the walked window, by mouse or by keys as $by says; to be read after helpers.sh.
# Asks windows that open from now on to tell their names.
ask_for_names() {
    gdbus call --session --dest org.a11y.Bus --object-path /org/a11y/bus --method org.freedesktop.DBus.Properties.Set \
        org.a11y.Status IsEnabled "<true>" >/dev/null || { echo "$me: at-spi2-core is missing" >&2; exit 1; }
}
ask_for_names

# One helper for the whole walk, asked and answering by lines.
mkfifo "$folder/asked" "$folder/answered"
/usr/bin/python3 "$root/tests/walk/controls.py" <"$folder/asked" >"$folder/answered" 2>"$folder/controls.log" &
exec 8>"$folder/asked" 9<"$folder/answered"
controls() {
    echo "$*" >&8
    read -r answer <&9 || answer="the helper ended"
    [ "$answer" = ok ]
}
shown() { until_true "$1 is shown" controls shows "$1"; }
hides() { ! controls shows "$1"; }
gone() { until_true "$1 is gone" hides "$1"; }

# Presses a control of that name.
use() {
    case $by in
        mouse) controls click "$1" || fail "a click on $1: $answer" ;;
        keys) controls go "$1" || fail "the way to $1: $answer"; key space ;;
    esac
    pause
}
# Runs a command: by mouse from its menu, by keys with its own.
menu() {
    case $by in
        mouse) for item in Menu "$1" "$2"; do controls item "$item" || fail "a click on $item: $answer"; pause; done ;;
        keys) key "$3" ;;
    esac
    pause
}
# Types into the field of that name, over what stood there.
fill() {
    case $by in
        mouse) controls click "$1" || fail "a click on $1: $answer" ;;
        keys) controls go "$1" || fail "the way to $1: $answer" ;;
    esac
    until_true "$1 takes the keys" controls held "$1"
    key ctrl+a
    text "$2"
}
# Takes a value from a list.
choose() {
    use "$1, now *"
    use "$1: $2"
    shown "$1, now $2"
}
# Answers the question for a path, which stands where there is no file dialog: label, path, button.
answer() {
    shown "$1"
    case $by in
        mouse) fill "$1" "$2"; use "$3" ;;
        keys) key ctrl+a; text "$2"; key Return ;;
    esac
    pause
}
# Opens a file of the folder.
open_file() {
    menu File "Open by path*" ctrl+l
    answer "Path of the file" "$folder/$1" Open
    until_true "$1 is read" title_is "$1 – Sameshot"
    shown "Photo *"
    sleep 2
}
choose_shades() {
    menu File "Shades*" ctrl+r
    answer "Path of the shades file" "$1" Use
    sleep 2
}
# Writes a report of what is in front: name, ending, what must stand in it.
report() {
    menu File "Report*" ctrl+p
    answer "Path of the report*" "$folder/$1.$2" Write
    until_true "the report $1.$2 is there" test -s "$folder/$1.$2"
    shown "The report is in*"
    picture "report-$1-$2"
    # Escape puts a message away.
    back Close
    [ -z "${3:-}" ] || grep -q "$3" "$folder/$1.$2" || fail "$3 stands in $1.$2"
}
# Leads back from a page.
back() {
    case $by in
        mouse) use "$1" ;;
        keys) key Escape ;;
    esac
}
# Selects a mark for the magnifier.
look_at_mark() {
    case $by in
        mouse) controls point "Photo *" ;;
        keys) key period; key Right; key Left; key ctrl+z ;;
    esac
    pause
}
