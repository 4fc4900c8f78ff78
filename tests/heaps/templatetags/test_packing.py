"""What a page hands to its scripts."""

from heaps.templatetags.packing import packed_json


def test_it_takes_no_blanks_and_ends_no_script() -> None:
    told = packed_json({"words": ["</script>", 2]}, "now")
    assert told == '<script id="now" type="application/json">{"words":["\\u003C/script\\u003E",2]}</script>'
