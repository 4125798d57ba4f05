"""A file to send, opened."""

import base64
import csv
import io
import re
import zipfile

from tests.web.conftest import soup


def file_of(client, battery):
    return client.get(f"/batteries/{battery.id}/file.html").text


def address_in(text):
    return re.search(r'href="data:application/zip;base64,([^"]+)"', text).group(1)


def archive_in(text):
    return zipfile.ZipFile(io.BytesIO(base64.b64decode(address_in(text), validate=True)))


def table_in(text, name):
    return list(csv.DictReader(archive_in(text).read(f"tables/{name}.csv").decode().splitlines()))


def soup_of(text):
    class Answer:
        pass

    answer = Answer()
    answer.text = text
    return soup(answer)
