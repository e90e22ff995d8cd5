"""A browser of nothing but one WebKitGTK window, for WebKitWebDriver to drive.

WebKitGTK's own MiniBrowser forgets everything when it is automated. This one keeps its storage in
a folder, as a tablet does, so that a test can close it and open it again. It runs in the system's
Python, which has GTK: ``python3 browser.py FOLDER WIDTH_PX HEIGHT_PX``.
"""

import os
import sys
from collections.abc import Callable
from pathlib import Path

import gi

gi.require_version("Gtk", "3.0")
gi.require_version("WebKit2", "4.1")
from gi.repository import Gtk, WebKit2  # noqa: E402

# Safari on tablets has these; WebKitGTK holds them and leaves them off.
ON_TABLETS = {"StorageAPI", "StorageAPIEstimate"}


def settings() -> WebKit2.Settings:
    settings = WebKit2.Settings(enable_write_console_messages_to_stdout=True)
    features = WebKit2.Settings.get_all_features()
    for feature in map(features.get, range(features.get_length())):
        if feature.get_identifier() in ON_TABLETS:
            settings.set_feature_enabled(feature, True)
    return settings


def keep_in(folder: str) -> Callable[[WebKit2.WebContext, WebKit2.Download], None]:
    """What is saved to a file lies beside the storage, under the name that the page gave it."""

    def decide(download: WebKit2.Download, name: str) -> bool:
        download.set_destination(Path(folder, name).resolve().as_uri())
        return True

    return lambda _context, download: download.connect("decide-destination", decide)


def main(folder: str, width: int, height: int) -> None:
    # One group with the processes that WebKit starts, so that a test can kill all at a stroke.
    os.setpgid(0, 0)
    Path(folder).mkdir(exist_ok=True)
    Path(folder, "process").write_text(str(os.getpid()))
    storage = WebKit2.WebsiteDataManager(
        base_data_directory=folder, base_cache_directory=f"{folder}/cache"
    )
    context = WebKit2.WebContext(website_data_manager=storage)
    context.set_automation_allowed(True)
    context.connect("download-started", keep_in(folder))

    def open_window(_session: WebKit2.AutomationSession) -> WebKit2.WebView:
        view = WebKit2.WebView(
            web_context=context, settings=settings(), is_controlled_by_automation=True
        )
        window = Gtk.Window(decorated=False, default_width=width, default_height=height)
        window.add(view)
        window.show_all()
        return view

    def begin(_context: WebKit2.WebContext, session: WebKit2.AutomationSession) -> None:
        # The driver takes a browser only if it goes by the name it was asked for.
        application = WebKit2.ApplicationInfo.new()
        application.set_name("MiniBrowser")
        application.set_version(WebKit2.get_major_version(), WebKit2.get_minor_version(), 0)
        session.set_application_info(application)
        session.connect("create-web-view", open_window)

    context.connect("automation-started", begin)
    Gtk.main()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
