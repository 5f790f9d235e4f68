#!/usr/bin/python3
"""Finds the window's controls by their accessible names, as a screen reader does (AT-SPI), and works them with a real
mouse or real keys (xdotool). Reads what to do from standard input, a line each, and answers each with a line, "ok" or
what is wrong:

    list            every control on standard error: place, role, name
    shows NAME      whether something of that name is in the window
    point NAME      by mouse: scrolls to it, waits until it keeps its place, then points at its middle
    click NAME      the same, then clicks
    item NAME       by mouse: clicks an item of an open menu, which never scrolls
    held NAME       whether the control has the focus
    go NAME         by keys: Tab until it has the focus; parts of a tray and records of a collection are one stop, among
                    which the arrow keys go

In NAME "*" stands for any text; with "#2" behind it the second of that name is meant. Debian: python3-gi at-spi2-core.
"""

import fnmatch
import os
import subprocess
import sys
import time

from gi.repository import Gio, GLib

SCALE = float(os.environ.get("WINIT_X11_SCALE_FACTOR", "1"))
# What the window has above and below of what scrolls, in points: bar and heads, strip and last line.
ABOVE, BELOW = 84, 46
# The bar at the top, which never scrolls; the wheel would move the photo. Nothing is asked for in the line at the bottom:
# what seems to lie there is scrolled away.
BAR = 37
MOST_TABS = 300
# Names of controls that are one stop of Tab begin so.
ONE_STOP = ("Part ", "Record ")
PATIENCE = 20.0
ACCESSIBLE, COMPONENT = "org.a11y.atspi.Accessible", "org.a11y.atspi.Component"
FOCUSED = 1 << 12
# What can be pressed or typed into; of these names it is never a label that is meant.
CONTROLS = {
    6: "canvas", 7: "check box", 11: "combo box", 32: "list item", 35: "menu item", 43: "button", 44: "radio button",
    51: "slider", 52: "spin button", 61: "text", 62: "toggle button", 79: "entry",
}


class Missing(Exception):
    """What was asked for is not there."""


def bus():
    session = Gio.bus_get_sync(Gio.BusType.SESSION)
    address = session.call_sync("org.a11y.Bus", "/org/a11y/bus", "org.a11y.Bus", "GetAddress", None, None, 0, -1)
    flags = Gio.DBusConnectionFlags.AUTHENTICATION_CLIENT | Gio.DBusConnectionFlags.MESSAGE_BUS_CONNECTION
    return Gio.DBusConnection.new_for_address_sync(address[0], flags)


BUS = bus()


def ask_all(questions):
    """Asks all at once; nothing where there is no answer."""
    answers = [None] * len(questions)
    left = len(questions)

    def arrived(connection, result, at):
        nonlocal left
        left -= 1
        try:
            answers[at] = connection.call_finish(result).unpack()
        except GLib.GError:
            pass

    for at, ((name, path), interface, method, parameters) in enumerate(questions):
        BUS.call(name, path, interface, method, parameters, None, 0, 5000, None, arrived, at)
    context = GLib.MainContext.default()
    while left:
        context.iteration(True)
    return answers


def children(nodes):
    answers = ask_all([(node, ACCESSIBLE, "GetChildren", None) for node in nodes])
    return [answer[0] if answer else [] for answer in answers]


def everything():
    """All there is in the window, in its order. On this walk's own bus it is the one program that answers."""
    programs = children([("org.a11y.atspi.Registry", "/org/a11y/atspi/accessible/root")])[0]
    below = {}
    level = programs
    while level:
        found = children(level)
        below.update(zip(level, found))
        level = [child for some in found for child in some]

    def walk(node):
        for child in below[node]:
            yield child
            yield from walk(child)

    return [node for program in programs for node in walk(program)]


def names(nodes):
    name = GLib.Variant("(ss)", (ACCESSIBLE, "Name"))
    answers = ask_all([(node, "org.freedesktop.DBus.Properties", "Get", name) for node in nodes])
    return [answer[0] if answer else "" for answer in answers]


def roles(nodes):
    return [answer[0] if answer else 0 for answer in ask_all([(node, ACCESSIBLE, "GetRole", None) for node in nodes])]


def area(node):
    """Place on the screen; nothing where it has none."""
    answer = ask_all([(node, COMPONENT, "GetExtents", GLib.Variant("(u)", (0,)))])[0]
    return answer[0] if answer else (0, 0, 0, 0)


def steady(node):
    """Its place, once it has kept it for a moment."""
    end = time.monotonic() + PATIENCE
    place = area(node)
    while time.monotonic() < end:
        time.sleep(0.12)
        before, place = place, area(node)
        if place == before:
            return place
    raise Missing("it never keeps its place")


def focused(nodes):
    states = ask_all([(node, ACCESSIBLE, "GetState", None) for node in nodes])
    return [node for node, state in zip(nodes, states) if state and state[0][0] & FOCUSED]


def named(nodes, wanted):
    return [node for node, name in zip(nodes, names(nodes)) if fnmatch.fnmatchcase(name, wanted)]


def control(wanted):
    """The control of a name, once it is there."""
    wanted, _, number = wanted.partition("#")
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        fitting = named(everything(), wanted)
        fitting = [node for node, role in zip(fitting, roles(fitting)) if role in CONTROLS]
        if len(fitting) >= int(number or 1):
            return fitting[int(number or 1) - 1]
        time.sleep(0.1)
    raise Missing(f"no control named {wanted}")


def xdotool(*words):
    return subprocess.run(["xdotool", *map(str, words)], check=True, capture_output=True, text=True).stdout


def point(wanted):
    node = control(wanted)
    height_px = int(xdotool("getdisplaygeometry").split()[1])
    still = 0
    for _ in range(120):
        x, y, width, height = steady(node)
        middle = y + height / 2
        in_bar = 0 < middle < BAR * SCALE
        # What does not move with the wheel stands where it stands.
        if in_bar or ABOVE * SCALE < middle < height_px - BELOW * SCALE or still == 3:
            xdotool("mousemove", round(x + width / 2), round(middle), "sleep", 0.15)
            if area(node) == (x, y, width, height):
                return
            continue
        xdotool("mousemove", round(x + min(width / 2, 60)), round(height_px / 2))
        xdotool("click", 5 if middle > height_px / 2 else 4)
        time.sleep(0.15)
        still = still + 1 if area(node)[1] == y else 0
    raise Missing(f"{wanted} cannot be scrolled to")


def among(name):
    """Goes on with arrow keys among controls that are one stop; whether it came there."""
    xdotool("key", "Home", "sleep", 0.1)
    before = None
    while True:
        now = names(focused(everything()))
        if fnmatch.filter(now, name):
            return True
        if now == before:
            return False
        before = now
        xdotool("key", "Down", "sleep", 0.1)


def go(wanted):
    name, _, number = wanted.partition("#")
    met = 0
    for _ in range(MOST_TABS):
        now = names(focused(everything()))
        if fnmatch.filter(now, name):
            met += 1
            if met == int(number or 1):
                # A window that is late may have another Tab before it.
                time.sleep(0.3)
                if fnmatch.filter(names(focused(everything())), name):
                    return
                met -= 1
                xdotool("key", "shift+Tab", "sleep", 0.3)
                continue
        kind = next((kind for kind in ONE_STOP if name.startswith(kind) and any(n.startswith(kind) for n in now)), None)
        if kind and among(name):
            return
        xdotool("key", "Tab", "sleep", 0.08)
    raise Missing(f"Tab never reaches {wanted}")


def do(verb, wanted):
    if verb == "list":
        nodes = everything()
        for node, role, name in zip(nodes, roles(nodes), names(nodes)):
            print(*area(node), CONTROLS.get(role, role), "|", name, file=sys.stderr, flush=True)
    elif verb == "shows":
        if not named(everything(), wanted):
            raise Missing(f"nothing is named {wanted}")
    elif verb == "point":
        point(wanted)
    elif verb == "click":
        point(wanted)
        xdotool("click", 1)
    elif verb == "item":
        x, y, width, height = steady(control(wanted))
        xdotool("mousemove", round(x + width / 2), round(y + height / 2), "sleep", 0.15, "click", 1)
    elif verb == "held":
        if not named(focused(everything()), wanted):
            raise Missing(f"{wanted} has no focus")
    elif verb == "go":
        go(wanted)
    else:
        raise Missing(f"no verb {verb}")


def main():
    for line in sys.stdin:
        verb, _, wanted = line.rstrip("\n").partition(" ")
        try:
            do(verb, wanted)
            print("ok", flush=True)
        except Missing as missing:
            print(missing, flush=True)


main()
