"""What is done about alarms: a live one is silenced or snoozed by itself, all past ones with one key."""

from __future__ import annotations

from dyeday.bench.actions.recorder import Actions
from dyeday.bench.input.key_forwarding import ask
from dyeday.bench.live_session import EventDraft
from dyeday.bench.prompts.prompts import Choose, KeyChoice
from dyeday.terms import AlarmAction
from dyeday.track.events.remarks import ALARM_WORDS, AlarmHandled

_MUTES = (("1", 5), ("2", 15), ("3", 30))
_TESTED = "the bell has sounded; if you heard nothing, check the terminal, or set a program with `dyeday sound`"


class AlarmActions(Actions):
    """The questions about alarms, asked and recorded through `Recorder`."""

    async def silence(self) -> None:
        """Silence one alarm; with several, ask which."""
        await self._alarm(AlarmAction.SILENCED)

    async def sound(self) -> None:
        """Test the sound, or mute it: a mark stands until it is back."""
        sounds = self.screen.bench_app.sounds
        choices = [
            KeyChoice("t", "test", "test it"),
            *(KeyChoice(key, str(n), f"mute it for {n} min") for key, n in _MUTES),
        ]
        choices += [KeyChoice("0", "0", "sound again")] if sounds.muted_until(self.keeper.now()) is not None else []
        what = await ask(Choose("Sound", choices, return_takes=True))
        if what == "test":
            sounds.sound(self.keeper.now())
            self.screen.say(_TESTED)
        else:
            sounds.mute(self.keeper.now(), float(what))
            self.screen.say(f"{self.screen.muted_words() or 'sound is on'}; alarms show as before")

    async def snooze(self) -> None:
        """Ask for how long an alarm is snoozed, and with several which."""
        if not (self.screen.shown and self.screen.shown.snoozable):
            self.screen.say("no alarm to snooze")
            return
        lengths = [KeyChoice(key, str(n), f"{n} min") for key, n in (("1", 5), ("2", 10), ("3", 15))]
        length_min = await ask(Choose("Snooze it for", lengths, return_takes=True))
        await self._alarm(AlarmAction.SNOOZED, float(length_min))

    async def _alarm(self, what: AlarmAction, minutes: float | None = None) -> None:
        """Act on one line of alarms: on one thing that stands, or on all that are past."""
        shown = self.screen.shown
        lines = () if shown is None else (shown.snoozable if what is AlarmAction.SNOOZED else shown.alarms)
        if not lines:
            self.screen.say("every alarm is silenced already")
            return
        place = "0"
        if len(lines) > 1:
            choices = [KeyChoice(str(n + 1), str(n), line.text) for n, line in enumerate(lines[:9])]
            place = await ask(Choose(f"Which alarm is {ALARM_WORDS[what]}", choices, return_takes=True))
        ids = lines[int(place)].ids
        self.acts.record(*(EventDraft(AlarmHandled(alarm=name, what=what, minutes=minutes)) for name in ids))
