"""The command line: one word for each thing Westering does, one line for each thing that goes wrong."""

import argparse
import csv
import json
import os
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NoReturn

from app.errors import BadInput, WesteringError

if TYPE_CHECKING:
    from app.looks.margin import Scene
    from app.place.site import Site

# Every command imports what it needs when it runs: most need a small part of the program, and quickly.

FAILED, STOPPED = 2, 130
NEGATIVE = re.compile(r"-[\d.,]")
WITHOUT_CSV = ("lat", "lon", "at", "height", "bearing", "magnetic", "tz", "json")


class Parser(argparse.ArgumentParser):
    """Tells a mistyped command in one line, like every other fault."""

    def error(self, message: str) -> NoReturn:
        raise BadInput(f"{message}. See “{self.prog} --help”.")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; return 0, or 2 after one line on standard error that says what was wrong."""
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        return _run(sys.argv[1:] if arguments is None else arguments)
    except WesteringError as error:
        return _fail(str(error))
    except BrokenPipeError:  # whoever read our output has seen enough, as “head” does
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except OSError as error:
        return _fail(f"{error.strerror or error}: {error.filename or 'no file named'}.")
    except KeyboardInterrupt:
        return STOPPED


def _run(arguments: Sequence[str]) -> int:
    asked = _parser().parse_args(_joined(arguments))
    code = asked.run(asked)
    sys.stdout.flush()
    return code


def _fail(words: str) -> int:
    print(f"westering: {' '.join(words.split())}", file=sys.stderr)
    return FAILED


def _joined(arguments: Sequence[str]) -> list[str]:
    """Tie a negative number to its option, which argparse would take for an option of its own."""
    joined: list[str] = []
    for argument in arguments:
        if joined and joined[-1].startswith("--") and "=" not in joined[-1] and NEGATIVE.match(argument):
            joined[-1] += f"={argument}"
        else:
            joined.append(argument)
    return joined


def _parser() -> Parser:
    parser = Parser(prog="westering", description="Where the low sun will stand in the picture, and when.", allow_abbrev=False)
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    def command(name: str, run: Callable[[argparse.Namespace], int], means: str, *arguments: str) -> None:
        added = commands.add_parser(name, help=means, description=means, allow_abbrev=False)
        added.set_defaults(run=run)
        for argument in arguments:
            _add(added, argument)

    command("demo", _demo, "Serve with the demo sites loaded.", "--port N", "--data DIR", "--no-browser")
    command(
        "serve", _serve, "Serve the sites, on this machine alone unless --host names an address others can reach.",
        "--host ADDRESS", "--port N", "--tls-cert FILE", "--tls-key FILE", "--data DIR", "--no-browser",
    )  # fmt: skip
    command(
        "sun", _sun, "Where the sun stands at an instant.", "--lat °", "--lon °", "--at INSTANT", "--height M", "--bearing °",
        "--magnetic", "--tz ZONE", "--pressure HPA", "--temperature °C", "--csv FILE", "--json",
    )  # fmt: skip
    command(
        "day", _day, "What sun and moon do on a date.", "--lat °", "--lon °", "--date DATE", "--tz ZONE", "--eye-height M",
        "--bearing °", "--magnetic", "--json",
    )  # fmt: skip
    command(
        "windows", _windows, "When the looks of a setup hold on a date.", "file FILE.geojson", "--setup NAME", "--date DATE",
        "--look LOOK", "--wind M/S", "--wind-from °", "--people-in-water", "--terrain* FILE", "--data DIR", "--json",
    )  # fmt: skip
    command(
        "year", _year, "When a look holds through a year.", "file FILE.geojson", "--setup NAME", "--year YEAR", "--look LOOK",
        "--wind M/S", "--wind-from °", "--people-in-water", "--terrain* FILE", "--data DIR", "--json",
    )  # fmt: skip
    command(
        "light", _light, "What the light does to a setup on a date: sky, faces, settings, flash.", "file FILE.geojson",
        "--setup NAME", "--date DATE", "--part PART", "--terrain* FILE", "--data DIR", "--json",
    )  # fmt: skip
    command("check", _check, "Whether a shoot's plan stands in the weather of its day.", "shoot SHOOT", "--ask", "--data DIR", "--json")
    command("order", _order, "The running order of a shoot that is kept.", "shoot SHOOT", "--data DIR", "--json")
    command("import", _import, "Keep the site of a file, or all of a zip file.", "file FILE", "--data DIR")
    command("export", _export, "Write a site, or all sites, to a file.", "site? SITE", "file FILE", "--all", "--overwrite", "--data DIR")
    command("backup", _backup, "Write everything kept into one file.", "file FILE", "--overwrite", "--data DIR")
    command("passphrase", _passphrase, "Set the owner's passphrase, or take it away.", "--remove", "--data DIR")
    command("restore", _restore, "Put a backup in the place of what is kept.", "file FILE", "--data DIR")
    return parser


def _add(parser: argparse.ArgumentParser, argument: str) -> None:
    """Add one argument: “--port N” takes a text, “--json” is a switch, “site? SITE” may be left out, “--terrain* FILE” be repeated."""
    name, _, metavar = argument.partition(" ")
    if not metavar:
        parser.add_argument(name, action="store_true")
    elif name.endswith("*"):
        parser.add_argument(name[:-1], action="append", default=[], metavar=metavar)
    elif name.endswith("?"):
        parser.add_argument(name[:-1], nargs="?", metavar=metavar)
    else:
        parser.add_argument(name, metavar=metavar)


def _demo(asked: argparse.Namespace) -> int:
    from app.cli_server import serve
    from app.settings import Settings

    serve(Settings.from_environment(data=asked.data, host="127.0.0.1"), _port(asked.port), not asked.no_browser, with_demo=True)
    return 0


def _serve(asked: argparse.Namespace) -> int:
    from app.cli_server import serve
    from app.settings import Settings

    if bool(asked.tls_cert) != bool(asked.tls_key):
        raise BadInput("For https give both --tls-cert and --tls-key.", "tls_cert")
    settings = Settings.from_environment(data=asked.data, host=asked.host)
    settings = replace(settings, tls_cert=asked.tls_cert, tls_key=asked.tls_key)
    serve(settings, _port(asked.port), not asked.no_browser, with_demo=False)
    return 0


def _passphrase(asked: argparse.Namespace) -> int:
    from app.cli_files import opened
    from app.cli_passphrase import asked_twice
    from app.web.passphrase import hashed

    with opened(asked.data) as store:
        store.door.set_passphrase(None if asked.remove else hashed(asked_twice()))
    print("There is no passphrase now; Westering serves this machine alone." if asked.remove else "The passphrase is set. Whoever was in must give it again.")
    return 0


def _port(text: str | None) -> int | None:
    if text is not None and not (text.isdecimal() and int(text) <= 65_535):
        raise BadInput(f"A port is a whole number from 0 to 65535; “{text[:40]}” came.", "port")
    return None if text is None else int(text)


def _sun(asked: argparse.Namespace) -> int:
    if asked.csv:
        return _sun_table(asked)
    from app.web.answers.lines import sun_lines
    from app.web.answers.question import Question
    from app.web.answers.sun import sun_asked

    return _tell(asked, sun_asked(Question(vars(asked))), sun_lines)


def _sun_table(asked: argparse.Namespace) -> int:
    from app.sky.refraction import STANDARD_PRESSURE_HPA, STANDARD_TEMPERATURE_C
    from app.web.answers.cases import sun_rows
    from app.web.answers.question import Question

    too_much = [f"--{name}" for name in WITHOUT_CSV if getattr(asked, name)]
    if too_much:
        raise BadInput(f"With --csv the table says where and when; leave out {', '.join(too_much)}.", "csv")
    air = Question(vars(asked)).air(STANDARD_PRESSURE_HPA, STANDARD_TEMPERATURE_C)
    bad: list[str] = []

    def complain(words: str) -> None:
        bad.append(words)
        _fail(words)

    source = sys.stdin.fileno() if asked.csv == "-" else asked.csv
    with open(source, encoding="utf-8-sig", newline="", closefd=asked.csv != "-") as table:
        csv.writer(sys.stdout, lineterminator="\n").writerows(sun_rows(table, *air, complain))
    return FAILED if bad else 0


def _day(asked: argparse.Namespace) -> int:
    from app.web.answers.day import day_asked
    from app.web.answers.lines import day_lines
    from app.web.answers.question import Question

    return _tell(asked, day_asked(Question(vars(asked))), day_lines)


def _windows(asked: argparse.Namespace) -> int:
    from app.web.answers.lines import windows_lines
    from app.web.answers.question import Question
    from app.web.answers.windows import windows_answer

    question, (site, scene) = Question(vars(asked)), _site_and_scene(asked)
    return _tell(asked, windows_answer(site, scene, question.day(), question.look()), windows_lines)


def _year(asked: argparse.Namespace) -> int:
    from app.web.answers.lines import year_lines
    from app.web.answers.question import Question
    from app.web.answers.windows import year_answer

    question, (site, scene) = Question(vars(asked)), _site_and_scene(asked)
    return _tell(asked, year_answer(site, scene, question.year(), question.needed_look()), year_lines)


def _light(asked: argparse.Namespace) -> int:
    from app.cli_files import kit_of
    from app.picture.sheet import PARTS
    from app.web.answers.light import light_answer, light_lines
    from app.web.answers.question import Question

    part = asked.part or PARTS[0]
    if part not in PARTS:
        raise BadInput(f"The part of a day is {' or '.join(PARTS)}; “{part[:20]}” came.", "part")
    question, (site, scene) = Question(vars(asked)), _site_and_scene(asked)
    return _tell(asked, light_answer(site, scene, kit_of(asked.data), question.day(), part), light_lines)


def _check(asked: argparse.Namespace) -> int:
    from app.cli_check import check
    from app.web.answers.check import check_lines

    return _tell(asked, check(asked), check_lines)


def _order(asked: argparse.Namespace) -> int:
    from app.cli_files import opened
    from app.web.answers.order import order_answer, order_lines
    from app.web.shoots import ShootShelf

    with opened(asked.data, must_exist=True) as store:
        return _tell(asked, order_answer(ShootShelf(store).shoot(asked.shoot)), order_lines)


def _site_and_scene(asked: argparse.Namespace) -> "tuple[Site, Scene]":
    from app.cli_files import kit_of, read_site, read_terrain
    from app.web.scenes import find_setup, scene_of
    from app.web.typed_weather import weather_asked

    site = read_site(asked.file)
    if not asked.setup:
        raise BadInput("The setup is missing: give --setup and its name or id.", "setup")
    terrain, weather = read_terrain(asked.terrain, site), weather_asked(vars(asked))
    return site, scene_of(site, find_setup(site, asked.setup), terrain, weather, kit_of(asked.data))


def _tell(asked: argparse.Namespace, answer: dict[str, Any], lines: Callable[[dict[str, Any]], Iterator[str]]) -> int:
    print(json.dumps(answer, ensure_ascii=False, indent=2) if asked.json else "\n".join(lines(answer)))
    return 0


def _import(asked: argparse.Namespace) -> int:
    from app.cli_files import bring_in, opened

    with opened(asked.data) as store:
        for kept in bring_in(store, asked.file):
            print(f"“{kept.name}” is kept as {kept.slug}.")
    return 0


def _export(asked: argparse.Namespace) -> int:
    from app.cli_files import opened, write_all, write_one

    if asked.all == bool(asked.site):
        raise BadInput("An export is asked for as “export SITE FILE” or as “export --all FILE.zip”.")
    with opened(asked.data, must_exist=True) as store:
        if asked.all:
            count = write_all(store, asked.file, asked.overwrite)
            print(f"{count} site{'' if count == 1 else 's'} written to {asked.file}.")
        else:
            write_one(store, asked.site, asked.file, asked.overwrite)
            print(f"“{asked.site}” written to {asked.file}.")
    return 0


def _backup(asked: argparse.Namespace) -> int:
    from app.cli_files import opened
    from app.storage.backup import back_up

    with opened(asked.data, must_exist=True) as store:
        print(f"Everything is in {back_up(store, asked.file, asked.overwrite)}.")
    return 0


def _restore(asked: argparse.Namespace) -> int:
    from app.settings import Settings
    from app.storage.backup import restore

    old = restore(asked.file, Settings.from_environment(data=asked.data).database)
    print(f"{asked.file} is now what is kept." + (f" What was kept before is in {old}." if old else ""))
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
