"""Every view of the app and its keys, declared once.

A view is a state of the screen in which keys have one meaning.
"""

from checklist.tui.keys import DIGITS, SITE_LETTERS, View, fixed, movable

_HELP = movable("help", "question_mark f1", "keys", "Show the keys that work here")
_UP = movable("up", "up", "up", "Go up in the list", shown=False)
_DOWN = movable("down", "down tab", "down", "Go down in the list", shown=False)
_PAGE_UP = movable("page_up", "pageup", "page up", "Go up by a screen", shown=False)
_PAGE_DOWN = movable("page_down", "pagedown", "page down", "Go down by a screen", shown=False)
_CANCEL = movable("cancel", "escape backspace", "back", "Go back without changing anything")
_WHERE = (
    movable("right", "r", "right", "Right side, or not"),
    movable("left", "l", "left", "Left side, or not"),
    fixed("site", SITE_LETTERS, "site", "The site with this letter, or not"),
    movable("everywhere", "z", "all", "All sides and sites, or none", shown=False),
)
_LIST = (_UP, _DOWN, _PAGE_UP, _PAGE_DOWN)

HOME = View(
    id="home",
    title="Home",
    keys=(
        movable("open", "enter space", "open", "Take up, begin or read what is chosen"),
        movable("note", "n", "note", "Read the note or the debrief of the chosen session"),
        movable("times", "t", "times", "Read the timeline of the chosen session"),
        movable("rehearse", "r", "rehearse", "Choose how to rehearse the protocol, alone"),
        movable("practise", "w", "what next", "Read what to practise next of the protocol"),
        movable("progress", "p", "progress", "Read how the sessions on the protocol went over time"),
        movable("example", "e", "example", "Look at an invented, finished example"),
        *_LIST,
        _HELP,
        movable("quit", "q escape", "quit", "Close the program"),
    ),
)
READ = View(
    id="read",
    title="Reading",
    keys=(
        movable("switch", "n", "what next or progress", "Change between what to practise and progress"),
        movable("shorter", "left", "fewer minutes", "Plan for fewer minutes"),
        movable("longer", "right", "more", "Plan for more minutes"),
        movable("begin", "b", "recall what is due", "Recall what is listed for today, and its neighbours"),
        movable("down", "down", "down", "Go down by a line", shown=False),
        movable("up", "up", "up", "Go up by a line", shown=False),
        movable("page_down", "pagedown space", "page", "Go down by a screen"),
        _PAGE_UP,
        _HELP,
        movable("cancel", "escape backspace q", "home", "Go back"),
    ),
)
REHEARSALS = View(
    id="rehearsals",
    title="Choosing a rehearsal",
    keys=(
        movable("begin", "enter space", "begin", "Begin or read what is chosen"),
        movable("section", "s right", "section", "Go to the next section, or to all"),
        movable("section_back", "left", "section", "Go to the section before", shown=False),
        movable("typed", "t", "said or typed", "Change between saying the answers aloud and typing them"),
        movable("code", "c", "code", "Type the code of the one rehearsing, or none"),
        movable("practise", "w", "what next", "Read what to practise next of the protocol"),
        movable("progress", "p", "progress", "Read how the sessions on the protocol went over time"),
        *_LIST,
        _HELP,
        movable("cancel", "escape backspace q", "back", "Go back"),
    ),
)
PREPARE = View(
    id="prepare",
    title="Preparation",
    keys=(
        movable("begin", "b", "begin", "Start the clock at the first step"),
        movable("change", "enter space", "change", "Type, choose or tick what the mark stands at"),
        movable("all", "a", "all at hand", "Tick the whole list as at hand"),
        movable("cautions", "c", "cautions", "Read all cautions and adaptations, and go back"),
        fixed("option", DIGITS, "choose", "Choose by number", shown=False),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
STEP = View(
    id="step",
    title="Examining",
    keys=(
        movable("expected", "space pagedown", "as expected", "Record what is open as expected, go on"),
        movable("differs", "d", "differs", "Record what differs: finding, side, site, own words"),
        fixed(
            "finding",
            DIGITS,
            "finding",
            "Mark the finding with this number; where a reading is open, begin to type it",
            shown=False,
        ),
        movable("reading", "enter", "reading", "Type the reading"),
        movable("time", "c", "tap or time", "Tap a rate, count against a silent clock, use a stop-watch"),
        movable("not_examined", "x", "not examined", "Record as not examined, with the reason"),
        movable("unseen", "v", "not seen", "Record as attempted, not seen (eardrum, fundus …)"),
        movable("done", "e", "as expected", "Record as expected what is chosen, or a conditional step"),
        movable("told", "t", "told", "Answer who was told of a finding, and when", shown=False),
        movable("remark", "m", "remark", "Add your own words about this step to the note"),
        movable("undo", "u", "undo", "Take back the last thing recorded"),
        movable("back", "left pageup", "back", "Go to the step before, recording nothing"),
        movable("forward", "right", "on", "Go to the next step, recording nothing"),
        movable("down", "down tab", "entry", "Choose one side or site, or all again", shown=False),
        movable("up", "up", "entry", "Choose the side or site before", shown=False),
        movable("read_on", "n", "read on", "Show the rest of a step that is too long", shown=False),
        movable("find", "f", "find", "Find a step by typing"),
        movable("pause", "p", "pause", "Stop the clock"),
        movable("finish", "w", "finish", "See what is left open, and finish"),
        movable("section", "s", "section", "Go to the next section, recording nothing"),
        movable("outline", "o", "outline", "Show all steps and what is recorded"),
        movable("together", "g", "together", "What is computed, and what belongs together", shown=False),
        _HELP,
        movable("leave", "q", "leave", "Leave; the session can be resumed"),
    ),
)
SHEET = View(
    id="sheet",
    title="What differs",
    keys=(
        fixed("finding", DIGITS, "finding", "Mark or unmark the finding with this number"),
        *_WHERE,
        movable("words", "t", "own words", "Say it in your own words"),
        movable("urgency", "y", "how fast", "How fast your own words, or the reading, must be told"),
        movable("reading", "m", "reading", "Type the reading"),
        movable("keep", "k", "as expected", "Record the reading as expected all the same"),
        movable("confirm", "enter", "record", "Record this; the rest stays open"),
        movable(
            "confirm_rest",
            "space",
            "record, open rest as expected",
            "Record this, and what is still open as expected",
        ),
        _HELP,
        _CANCEL,
    ),
)
REASON = View(
    id="reason",
    title="Why not examined",
    keys=(
        fixed("reason", DIGITS[:6], "reason", "Record with this reason"),
        *_WHERE,
        movable("words", "t", "other reason", "Give another reason in your own words"),
        _HELP,
        _CANCEL,
    ),
)
UNSEEN = View(
    id="unseen",
    title="Attempted, not seen",
    keys=(
        *_WHERE,
        movable("words", "t", "what hindered", "Say what hindered the view"),
        movable("confirm", "enter space", "record", "Record as attempted, not seen"),
        _HELP,
        _CANCEL,
    ),
)
STEPS = View(
    id="steps",
    title="Outline",
    keys=(
        movable("go", "enter space", "go there", "Go to the chosen step"),
        movable("find", "f", "find", "Type a part of the title"),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
TOLD = View(
    id="told",
    title="Who was told",
    keys=(
        fixed("role", DIGITS, "told now", "This role was told, now"),
        movable("words", "t", "someone else", "Type a role or code, and the time if it was not now"),
        movable("down", "down tab", "next", "The next finding that waits", shown=False),
        movable("up", "up", "before", "The finding before", shown=False),
        movable("undo", "u", "undo", "Take back the last answer"),
        _HELP,
        movable("cancel", "escape backspace space", "later", "Answer later"),
    ),
)
READING = View(
    id="reading",
    title="Reading",
    keys=(
        movable("accept", "enter", "record", "Record the reading; what is out of range is asked about"),
        movable("skip", "space pagedown", "as expected, no value", "In an empty line: no value"),
        movable("with_finding", "tab", "and a finding", "Keep the reading, and say what differs"),
        movable("drop", "escape", "cancel", "Leave it as it was"),
    ),
)
TIMING = View(
    id="timing",
    title="Tapping and timing",
    keys=(
        movable(
            "tap", "space pagedown", "beat, start, stop", "One beat or breath; start or stop the stop-watch"
        ),
        movable("half_minute", "3", "30 s clock", "Start a silent clock of 30 seconds"),
        movable("minute", "6", "60 s clock", "Start a silent clock of 60 seconds"),
        movable("take", "enter", "take it", "Take what was timed, to confirm it"),
        movable("again", "backspace", "again", "Start again"),
        movable("pause", "p", "pause", "Stop the clock; what passes is not measured"),
        _HELP,
        movable("cancel", "escape q", "back", "Go back without a reading"),
    ),
)
TOGETHER = View(
    id="together",
    title="Computed and together",
    keys=(
        movable("down", "down", "down", "Go down by a line", shown=False),
        movable("up", "up", "up", "Go up by a line", shown=False),
        movable("page_down", "pagedown space", "page", "Go down by a screen"),
        _PAGE_UP,
        _HELP,
        movable("cancel", "escape backspace g", "back", "Go back to the step"),
    ),
)
PAUSED = View(
    id="paused",
    title="Paused",
    keys=(
        movable("go_on", "space p enter", "go on", "Start the clock again"),
        movable("leave", "q", "leave", "Leave; the session can be resumed"),
        _HELP,
    ),
)
FINISH = View(
    id="finish",
    title="Finish",
    keys=(
        movable("go", "enter", "go there", "Go to what is chosen"),
        movable("told", "t", "told", "Answer who was told of a finding, and when"),
        movable("finish", "y", "finish now", "Finish for good; what is listed stays not examined"),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
NOTE = View(
    id="note",
    title="Note",
    keys=(
        movable("copy", "c", "copy", "Copy the note to the clipboard"),
        movable("save", "s", "save", "Save the note to a file"),
        movable("switch", "n", "note, times, debrief", "Change between note, timeline and debrief"),
        movable("told", "t", "told", "Answer who was told of a finding, and when"),
        movable("amend", "a", "amend", "Write a late entry or a correction, with who and why"),
        movable(
            "sign", "z", "sign", "Close the session with your initials: then it is only amended and told"
        ),
        movable("down", "down", "down", "Go down by a line", shown=False),
        movable("up", "up", "up", "Go up by a line", shown=False),
        movable("page_down", "pagedown space", "page", "Go down by a screen"),
        _PAGE_UP,
        _HELP,
        movable("cancel", "escape backspace q", "home", "Go back"),
    ),
)
_MARKS = (
    movable("done", "space pagedown", "done", "Mark as done, go on; a conditional step as not applicable"),
    movable("prompted", "p", "after a prompt", "Mark as done after a prompt"),
    movable("incorrect", "i", "incorrectly", "Mark as done incorrectly, and say what was"),
    movable("not_done", "x", "not done", "Mark as not done"),
    movable("unseen", "v", "not seen", "Mark as: could not be seen from where the observer was"),
    movable("not_applicable", "n", "not applicable", "Mark as not applicable"),
)
_DONE_INDEED = movable(
    "done_indeed", "e", "done", "Mark as done what is conditional, or has another mark", shown=False
)
OBSERVE = View(
    id="observe",
    title="Observing",
    keys=(
        *_MARKS,
        _DONE_INDEED,
        movable("range", "b", "several", "Choose several steps, for one mark"),
        movable("undo", "u", "undo", "Take back the last mark or remark"),
        movable("find", "f", "find", "Find the step that is performed now by typing"),
        movable("finish", "w", "finish", "See what has no mark, and finish"),
        movable("remark", "m", "remark", "Add your own words about this step"),
        movable("first_open", "g", "first open", "Go to the first step without a mark", shown=False),
        movable("down", "down right tab", "on", "Go to the next step, marking nothing", shown=False),
        movable("up", "up left pageup", "back", "Go to the step before, marking nothing", shown=False),
        movable("section", "s", "section", "Go to the next section, marking nothing", shown=False),
        movable("pause", "c", "pause", "Stop the clock", shown=False),
        _HELP,
        movable("leave", "q", "leave", "Leave; the session can be resumed"),
    ),
)
MARKING = View(
    id="marking",
    title="Marking several",
    keys=(
        movable("down", "down right tab", "one more", "Take in the next step"),
        movable("up", "up left pageup", "one less", "Leave out the last one, or take in the one before"),
        *_MARKS,
        _DONE_INDEED,
        _HELP,
        movable("cancel", "escape backspace b", "back", "Choose one step again, marking nothing"),
    ),
)
UNMARKED = View(
    id="unmarked",
    title="Finish observing",
    keys=(
        movable("go", "enter", "go there", "Go to the chosen step"),
        movable("finish", "y", "finish now", "Finish for good; what is listed stays without a mark"),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
AMEND_LIST = View(
    id="amend_list",
    title="Amending: the steps",
    keys=(
        movable("go", "enter space", "open", "Open the chosen step"),
        movable("find", "f", "find", "Type a part of the title"),
        *_LIST,
        _HELP,
        movable("cancel", "escape backspace q", "note", "Go back to the note"),
    ),
)
AMEND = View(
    id="amend",
    title="Amending: a step",
    keys=(
        movable("down", "down tab", "entry", "Choose one side or site, or all again"),
        movable("up", "up", "entry", "Choose the side or site before", shown=False),
        movable("differs", "d", "differs", "Amend to what differs: finding, side, site, own words"),
        fixed("finding", DIGITS, "finding", "Amend to the finding with this number", shown=False),
        movable("done", "e", "as expected", "Amend to as expected"),
        movable("reading", "enter", "reading", "Type the reading"),
        movable("not_examined", "x", "not examined", "Amend to not examined, with the reason"),
        movable("unseen", "v", "not seen", "Amend to attempted, not seen"),
        _PAGE_UP,
        _PAGE_DOWN,
        _HELP,
        movable("cancel", "escape backspace q", "steps", "Go back to the steps, writing nothing"),
    ),
)
_LOWER = movable("lower", "u", "last one not recalled", "The last answer was not recalled after all")
RECALL = View(
    id="recall",
    title="Rehearsing",
    keys=(
        movable("reveal", "space enter", "show it", "Show the answer, after saying it aloud"),
        movable("hint", "h", "hint", "Show one more hint; then it counts as recalled with a hint at most"),
        movable("type", "t", "type", "Type the step instead of saying it"),
        movable("look_back", "b left", "look back", "Show what was answered; nothing changes by it"),
        _LOWER,
        *_LIST,
        movable("pause", "p", "pause", "Stop the clock"),
        movable("finish", "w", "finish", "See how it went so far, and finish"),
        _HELP,
        movable("leave", "q", "leave", "Leave; the rehearsal can be resumed"),
    ),
)
RECALL_ANSWER = View(
    id="recall_answer",
    title="Rehearsing: the answer",
    keys=(
        movable("recalled", "space", "recalled", "Mark as recalled; after a hint, with a hint"),
        movable("run_on", "enter", "recalled, and show the next", "The same; the next one is said: show it"),
        movable("out_of_place", "o", "out of place", "Mark as recalled, but at another place"),
        movable("not_recalled", "x", "not recalled", "Mark as not recalled"),
        _LOWER,
        movable("down", "down tab", "next", "Choose the next of several steps, or go down", shown=False),
        movable("up", "up", "before", "Choose the one before, or go up", shown=False),
        _PAGE_UP,
        _PAGE_DOWN,
        _HELP,
        movable("leave", "q", "leave", "Leave; the rehearsal can be resumed"),
    ),
)
RECALL_BACK = View(
    id="recall_back",
    title="Rehearsing: looking back",
    keys=(
        *_LIST,
        _HELP,
        movable("cancel", "escape backspace space b right", "go on", "Go on where it stood"),
    ),
)
RECALL_FINISH = View(
    id="recall_finish",
    title="Finish rehearsing",
    keys=(
        movable("finish", "y", "finish now", "Finish for good; what was not asked stays so"),
        _LOWER,
        *_LIST,
        _HELP,
        movable("leave", "q", "leave", "Leave; the rehearsal can be resumed"),
        _CANCEL,
    ),
)
REHEARSED = View(
    id="rehearsed",
    title="After a rehearsal",
    keys=(
        movable("down", "down", "down", "Go down by a line", shown=False),
        movable("up", "up", "up", "Go up by a line", shown=False),
        movable("page_down", "pagedown space", "page", "Go down by a screen"),
        _PAGE_UP,
        _HELP,
        movable("cancel", "escape backspace q", "home", "Go back"),
    ),
)
PATIENT = View(
    id="patient",
    title="Simulated patient",
    keys=(movable("look", "l", "look, listen, feel", "Show what would be seen, heard or felt at this step"),),
)
DECIDE = View(
    id="decide",
    title="Simulated patient: what must be told",
    keys=(
        movable("tell_urgent", "a", "at once", "You would tell this at once"),
        movable("tell_report", "r", "before leaving", "You would tell this before leaving"),
        movable("tell_note", "n", "write down", "Writing this down is enough"),
        movable("finish", "y", "finish now", "Finish for good, and see what was there"),
        *_LIST,
        _HELP,
        _CANCEL,
    ),
)
RECALL_TYPING = View(
    id="recall_typing",
    title="Rehearsing: typing the step",
    keys=(
        movable("accept", "enter", "compare", "Compare what is typed with the protocol"),
        movable("hint", "tab", "hint", "Show one more hint"),
        _PAGE_UP,
        _PAGE_DOWN,
        movable("drop", "escape down", "other keys", "Close the line, for all other keys"),
    ),
)
TYPING = View(
    id="typing",
    title="Typing",
    keys=(
        movable("accept", "enter", "done", "Take what is typed"),
        movable("drop", "escape", "cancel", "Leave it as it was"),
    ),
)
SEARCH = View(
    id="search",
    title="Finding a step",
    keys=(
        movable("accept", "enter", "go there", "Go to the chosen step"),
        movable("up", "up", "up", "Go up in the list"),
        movable("down", "down", "down", "Go down in the list"),
        movable("drop", "escape", "cancel", "Stay where you are"),
    ),
)
VIEWS = (
    HOME,
    READ,
    REHEARSALS,
    PREPARE,
    STEP,
    READING,
    TIMING,
    SHEET,
    REASON,
    UNSEEN,
    STEPS,
    TOLD,
    TOGETHER,
    PAUSED,
    FINISH,
    NOTE,
    AMEND_LIST,
    AMEND,
    OBSERVE,
    MARKING,
    UNMARKED,
    RECALL,
    RECALL_ANSWER,
    RECALL_BACK,
    RECALL_FINISH,
    REHEARSED,
    PATIENT,
    DECIDE,
    RECALL_TYPING,
    TYPING,
    SEARCH,
)
