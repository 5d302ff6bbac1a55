"""What somebody typed before they were signed out: shown, and sent again by their own hand."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from museum.people import held as keeping
from museum.people.doors import signed_in


@require_http_methods(["GET", "POST"])
@never_cache
@signed_in
def held(request: HttpRequest) -> HttpResponse:
    """The form goes on to where it was meant, as if it had been sent just now."""
    found = keeping.waiting(request)
    if request.method == "GET":
        return render(request, "people/held.html", {"held": found})
    if found is None:
        return redirect("people:held")
    keeping.drop(request)
    if "leave-it" in request.POST:
        return redirect(found.back)
    # 307: the browser sends the same form again, to that address.
    return HttpResponse(status=307, headers={"Location": found.path})
