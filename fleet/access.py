"""Who may see what. A fleet that is not yours and one that does not exist answer alike: 404."""

from collections.abc import Callable
from functools import wraps

from allauth.account.adapter import DefaultAccountAdapter
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse

from .models import Fleet, Membership

View = Callable[..., HttpResponse]


class InvitedOnly(DefaultAccountAdapter):
    """Nobody signs up by themselves: a manager makes the membership."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False


def member(*roles: str) -> Callable[[View], View]:
    """Open a view to signed-in members of the fleet in the address, or to some of their roles.

    The view receives the request with ``request.fleet`` and ``request.role`` set. Raises Http404
    for strangers to the fleet and PermissionDenied for members whose role is not among ``roles``.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        @login_required
        def opened(request: HttpRequest, fleet: str, **kwargs) -> HttpResponse:
            membership = (
                Membership.objects.select_related("fleet")
                .filter(fleet__slug=fleet, user=request.user)
                .first()
            )
            if membership is None:
                raise Http404("No such page in a fleet of yours.")
            if roles and membership.role not in roles:
                raise PermissionDenied("Your role in this fleet does not open this page.")
            request.fleet, request.role = membership.fleet, membership.role
            return view(request, **kwargs)

        return opened

    return decorate


def fleets_of(user) -> list[Fleet]:
    return list(Fleet.objects.seen_by(user))
