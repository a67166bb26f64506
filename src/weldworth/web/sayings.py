"""What the seller's page says from its script, in the language that texts are written in; words/ has the others."""

from __future__ import annotations

from collections.abc import Mapping

SAYINGS: Mapping[str, str] = {
    "count": "{n} of {all}",
    "kept": "Kept on this phone.",
    "sending": "Sending: {share} of 100.",
    "waiting": "It goes by itself as soon as there is a signal.",
    "good": "Good, thank you.",
    "came": "It has arrived, thank you.",
    "noted": "Noted, thank you. Nobody will ask twice.",
    "next": "Next",
    "another": "Take one more of this",
    "again": "Take it again",
    "leave": "Leave it as it is",
    "try_again": "Send it again",
    "let_go": "Let it go",
    "local_none": "Nothing is waiting on this phone.",
    "local_some": "On this phone only: {n}",
    "local_stay": "Until then do not clear this page from the phone. You may close it and come back.",
    "local_lost": "This browser cannot keep anything: leave this page open until everything has gone.",
    "offline": "No signal since {at}. It goes by itself when there is one.",
    "full": "The other side has no room at this moment. It goes by itself when there is.",
    "busy": "A moment: it goes on by itself.",
    "fault": "The other side has a fault. It is tried again by itself.",
    "gone": "This page was closed by whoever sent it. What is here was not taken.",
    "no_room": "There is no room left on this phone for this picture. Make some, then take it again.",
    "insecure": "Without signal this page does not open: this address is plain http. Stay on it until everything has gone.",
    "not_kept": "This browser cannot keep the page. Stay on it until everything has gone.",
    "more": "One more thing was asked for.",
    "not-a-picture": "This is not a picture that can be opened. Take it again.",
    "one-colour": "Nothing can be seen: it is all one colour. Uncover the lens or switch the light on; take it again.",
    "video": "This is a video. Please take a picture.",
    "too-large": "This picture is too large. Take it again at a smaller size.",
    "too-many": "Enough has come already; no more are taken here. Thank you.",
    "too-much": "Enough has come already; no more are taken here. Thank you.",
    "damaged": "It arrived damaged. Take it again.",
    "refused": "This could not be taken. Please try again.",
    "state_open": "still open",
    "state_again": "could be clearer",
    "state_taken": "done",
    "state_cannot": "cannot",
    "state_kept": "on this phone",
    "finished": "Thank you, that is noted. You can still come back to this page and go on.",
    "empty": "Nothing was chosen. Choose a picture or an answer, then send it.",
    "no_space": "The other side has no room at this moment. Try again later.",
    "number": "Give a number, such as 4.5.",
}

REASONS: Mapping[str, str] = {
    "reach": "I cannot get near it",
    "unsafe": "It is not safe here",
    "covered": "It is covered, and I will not uncover it",
    "rather-not": "I would rather not",
}
"""Why something cannot be given: word -> as the button says it."""

ANSWERS: Mapping[tuple[str, str], str] = {
    ("underside-coated", "unknown"): "",
    ("panels-replaced", "unknown"): "",
    ("title", "own-clear"): "in my name, free of liens",
    ("title", "lien"): "in my name, with a lien",
    ("fix-first", "named"): "",
    ("walked-away", "straight"): "",
    ("walked-away", "evasive"): "",
    ("loose-parts", "missing"): "parts are missing",
    ("lowest-price", "number"): "",
    ("lowest-price", "firm"): "the asked price",
    ("lowest-price", "pressure"): "",
    ("sign-description", "yes"): "I will sign",
    ("sign-description", "no"): "I will not sign",
}
"""Answers whose words in questions.csv speak of the seller: as he reads them; "" where there is no button for it."""

IN_WORDS: Mapping[str, str] = {"fix-first": "named", "walked-away": "straight", "lowest-price": "number"}
"""Questions that are best answered in own words -> the listed answer that own words amount to."""
