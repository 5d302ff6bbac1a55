"""The pages of this part. They parse, call one action and answer."""

from museum.people.views.sign_in import locked_out

__all__ = ["locked_out"]
