"""Make an empty fleet and its first manager."""

import secrets

from django.contrib.auth import get_user_model
from django.contrib.auth.models import AbstractUser
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import validate_email
from django.db import transaction
from django.utils.text import slugify

from fleet.checks import OWN_CHECKS
from fleet.models import Fleet, Membership

RESERVED = {"account", "health", "static"}


class Command(BaseCommand):
    requires_system_checks = OWN_CHECKS
    help = "Make an empty fleet and its first manager; prints the password once."

    def add_arguments(self, parser) -> None:
        parser.add_argument("name", help='e.g. "Our Club"')
        parser.add_argument("manager", help="the manager's e-mail address")
        parser.add_argument("--kind", choices=Fleet.Kind.values, default=Fleet.Kind.CLUB)
        parser.add_argument("--currency", default="EUR", help="ISO 4217, e.g. EUR")
        parser.add_argument("--time-zone", default="UTC", help="e.g. Europe/Lisbon")

    @transaction.atomic
    def handle(self, *args, **options) -> None:
        fleet = Fleet(
            name=options["name"],
            slug=slugify(options["name"]),
            kind=options["kind"],
            currency=options["currency"],
            time_zone=options["time_zone"],
        )
        self.save(fleet)
        user, password = self.manager(options["manager"])
        Membership.objects.create(fleet=fleet, user=user, role=Membership.Role.MANAGER)
        self.stdout.write(f"{fleet.name} is at /{fleet.slug}/ and has no boats yet.")
        self.stdout.write(f"Sign in as {user.email}{password}.")

    def save(self, fleet: Fleet) -> None:
        if not fleet.slug or fleet.slug in RESERVED:
            raise CommandError(f"{fleet.name!r} gives no usable address; choose another name.")
        try:
            fleet.full_clean()
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        fleet.save()

    def manager(self, email: str) -> tuple[AbstractUser, str]:
        users = get_user_model().objects
        user = users.filter(email__iexact=email).first()
        if user is not None:
            return user, " with the password you have"
        try:
            validate_email(email)
        except ValidationError as error:
            raise CommandError(f"{email!r} is no e-mail address.") from error
        password = secrets.token_urlsafe(12)
        return users.create_user(email, email=email, password=password), f", password {password}"
