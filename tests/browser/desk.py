"""What the head of department does at the desk."""

from playwright.sync_api import BrowserContext, Page

from tests.browser import tablet
from tests.browser.server import Server


def sign_in(browser: BrowserContext, server: Server) -> Page:
    page = browser.new_page()
    page.goto(server.address)
    username, password = tablet.HEAD
    page.get_by_label("Sign-in name").fill(username)
    page.get_by_label("Password").fill(password)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("heading", name="Act now").wait_for()
    return page
