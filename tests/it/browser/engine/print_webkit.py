"""Prints every sheet of the app's first sample with WebKitGTK, whose driver has no command for it.

Arguments: the app's address, the label of the menu entry that prints, the file to write, width and height of the
paper in inches.
"""

import json
import sys

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import GLib, Gtk, WebKit2  # noqa: E402

ADDRESS, LABEL, FILE, WIDTH_IN, HEIGHT_IN = sys.argv[1:]

KEPT = []

# What a person presses, one thing after another.
PRESS = """(async () => {
    const until = async (find) => {
        for (;;) {
            const found = find();
            if (found) return found;
            await new Promise((done) => setTimeout(done, 50));
        }
    };
    (await until(() => document.querySelector("#dialog button.main"))).click();
    await until(() => document.querySelector("#drawing .g-wire"));
    document.querySelector("button.project").click();
    const entries = () => [...document.querySelectorAll("#dialog .menu button")];
    (await until(() => entries().find((entry) => entry.textContent.trim() === LABEL))).click();
})()"""


def fail(why):
    sys.exit(f"not printed: {why}")


def prints(_view, operation):
    """The page asks to be printed: into a file, on the paper that was asked for."""
    across = float(WIDTH_IN) > float(HEIGHT_IN)
    orientation = Gtk.PageOrientation.LANDSCAPE if across else Gtk.PageOrientation.PORTRAIT
    sides = sorted([float(WIDTH_IN), float(HEIGHT_IN)])
    paper = Gtk.PaperSize.new_custom("paper", "paper", *sides, Gtk.Unit.INCH)
    setup = Gtk.PageSetup()
    setup.set_paper_size(paper)
    setup.set_orientation(orientation)
    settings = Gtk.PrintSettings()
    settings.set_paper_size(paper)
    settings.set_orientation(orientation)
    settings.set(Gtk.PRINT_SETTINGS_PRINTER, "Print to File")
    settings.set(Gtk.PRINT_SETTINGS_OUTPUT_URI, GLib.filename_to_uri(FILE))
    settings.set(Gtk.PRINT_SETTINGS_OUTPUT_FILE_FORMAT, "pdf")
    operation.set_page_setup(setup)
    operation.set_print_settings(settings)
    operation.connect("finished", lambda _: Gtk.main_quit())
    operation.connect("failed", lambda _, error: fail(error.message))
    # Nobody else holds it until it is done.
    KEPT.append(operation)
    operation.print_()
    return True


def loaded(view, event):
    if event == WebKit2.LoadEvent.FINISHED:
        script = f"const LABEL = {json.dumps(LABEL)};\n{PRESS}; 0"
        view.evaluate_javascript(script, -1, None, None, None, None, None)


window = Gtk.Window()
window.set_default_size(1024, 768)
# Keeps nothing for the next run.
view = WebKit2.WebView.new_with_context(WebKit2.WebContext.new_ephemeral())
view.connect("print", prints)
view.connect("load-changed", loaded)
window.add(view)
window.show_all()
view.load_uri(ADDRESS)
GLib.timeout_add_seconds(60, lambda: fail("nothing came within a minute"))
Gtk.main()
