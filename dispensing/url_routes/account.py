"""Sign-in, sign-out, password, and the first page."""

from django.urls import path

from dispensing.views import account, home

urlpatterns = [
    path("", home.home, name="home"),
    path("sign-in/", account.sign_in, name="sign-in"),
    path("sign-out/", account.sign_out, name="sign-out"),
    path("password/", account.password_change, name="password-change"),
]
