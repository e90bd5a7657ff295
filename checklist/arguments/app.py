"""What the commands that open the full-screen app take on the command line."""

import argparse
from typing import TYPE_CHECKING

from checklist.arguments.shared import add_session, seed_number

if TYPE_CHECKING:
    # The type has parameters for the checker alone.
    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def add_examine(commands: "Commands") -> None:
    parser = commands.add_parser(
        "examine",
        help="open the app at the preparation of a protocol",
        description="Open the app at the preparation of a protocol, or with --begin at its first step.",
    )
    parser.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    parser.add_argument("--participant", default="", metavar="CODE", help="made-up code of the one examined")
    parser.add_argument("--examiner", default="", metavar="CODE", help="made-up code of the one examining")
    add_preparation(parser, "needs both codes")
    parser.set_defaults(run=_examine)


def add_preparation(parser: argparse.ArgumentParser, needs: str) -> None:
    parser.add_argument("--age", default="", metavar="BAND", help="age band, as the protocol has it")
    parser.add_argument(
        "--setting",
        default="practice",
        choices=("practice", "care"),
        help="practice (default) marks every output as a simulated record",
    )
    parser.add_argument(
        "--assessed",
        action="store_true",
        help="the performance counts: no hints on the examiner's screen before the end",
    )
    parser.add_argument(
        "--begin", action="store_true", help=f"start the clock at once, with everything at hand; {needs}"
    )


def _examine(args: argparse.Namespace) -> int:
    from checklist.commands.screen import examine

    return examine(args)


def add_observe(commands: "Commands") -> None:
    parser = commands.add_parser(
        "observe",
        help="open the app to mark how somebody else examines",
        description="Open the app to mark, on the same protocol, how somebody else examines:"
        " at the preparation, or with --begin at the first step. An observation has no note.",
    )
    parser.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    parser.add_argument("--examiner", default="", metavar="CODE", help="made-up code of the one observed")
    parser.add_argument("--observer", default="", metavar="CODE", help="made-up code of the one who marks")
    parser.add_argument("--participant", default="", metavar="CODE", help="made-up code of the one examined")
    add_preparation(parser, "needs the codes of examiner and observer")
    parser.set_defaults(run=_observe)


def _observe(args: argparse.Namespace) -> int:
    from checklist.commands.screen import observe

    return observe(args)


def add_rehearse(commands: "Commands") -> None:
    parser = commands.add_parser(
        "rehearse",
        help="open the app to recall a protocol from memory, alone",
        description="Open the app to recall the steps of a protocol from memory, without a patient: say what"
        " comes next, look, and mark honestly. A rehearsal has no note.",
    )
    parser.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    parser.add_argument("--section", default="", metavar="ID", help="only this section")
    parser.add_argument(
        "--from",
        dest="begin_at",
        default="",
        metavar="STEP",
        help="begin at the step with this id, as the protocol's file has it, or at a 'random' one",
    )
    parser.add_argument(
        "--gaps", default="", metavar="SESSION", help="only around the steps that this session left out"
    )
    parser.add_argument(
        "--left-out", action="store_true", help="show a run that lacks a few steps, to name them by typing"
    )
    parser.add_argument(
        "--content", action="store_true", help="ask what belongs to a step, and which step it belongs to"
    )
    parser.add_argument("--typed", action="store_true", help="type the steps instead of saying them aloud")
    parser.add_argument("--examiner", default="", metavar="CODE", help="made-up code of the one rehearsing")
    parser.set_defaults(run=_rehearse)


def _rehearse(args: argparse.Namespace) -> int:
    from checklist.commands.screen import rehearse

    return rehearse(args)


def add_patient(commands: "Commands") -> None:
    parser = commands.add_parser(
        "patient",
        help="open the app to examine a simulated patient, alone",
        description="Open the app to examine a simulated patient: each step shows what would be seen, heard"
        " or felt; you record it, and say at the end what you would tell, and how fast.",
    )
    parser.add_argument("protocol", metavar="ID", help="the id of a protocol, as listed, or a protocol file")
    which = parser.add_mutually_exclusive_group()
    which.add_argument(
        "--seed",
        type=seed_number,
        default=None,
        metavar="N",
        help="the patient of this number (default: any)",
    )
    which.add_argument("--case", default="", metavar="CASE", help="a case file, or the id of a case")
    parser.add_argument("--examiner", default="", metavar="CODE", help="made-up code of the one rehearsing")
    parser.set_defaults(run=_patient)


def _patient(args: argparse.Namespace) -> int:
    from checklist.commands.screen import patient

    return patient(args)


def add_resume(commands: "Commands") -> None:
    parser = commands.add_parser(
        "resume",
        help="open the app where an unfinished session stood",
        description="Open the app at the step and second where an unfinished session stood.",
    )
    add_session(parser, "the latest unfinished one")
    parser.set_defaults(run=_resume)


def _resume(args: argparse.Namespace) -> int:
    from checklist.commands.screen import resume

    return resume(args)
