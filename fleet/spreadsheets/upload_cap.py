"""A guard before Django's own handling of uploads: what is beyond the most is never stored."""

from django.core.files.uploadhandler import FileUploadHandler

from .files import MOST_BYTES


class CappedUpload(FileUploadHandler):
    """Lets through what shows that a request's files are too large together, and no more.

    The rest of the request is read and dropped, so that the page can still answer in words.
    """

    def __init__(self, request=None) -> None:
        super().__init__(request)
        self.left = MOST_BYTES + self.chunk_size

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        self.left -= len(raw_data)
        return raw_data if self.left >= 0 else None

    def file_complete(self, file_size: int) -> None:
        """The next handler makes the file."""
