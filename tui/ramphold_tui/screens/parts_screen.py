"""What worksheet and balance have in common: the parts of the sample, and what is done to them."""

from textual import work

from ramphold.control import act, mass_methods, run_methods, specimen_methods
from ramphold.core import Style
from ramphold.sample import MassTaken, SpecimenRecord, Tick
from ramphold_tui.screens.question_dialog import QuestionDialog
from ramphold_tui.screens.workspace_screen import WorkspaceScreen
from ramphold_tui.screens.zeroing import take_zero
from ramphold_tui.view import formats, worksheet_parts
from ramphold_tui.view.corrections import corrections
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.forms import mass_form, reason_form, specimen_form
from ramphold_tui.view.press_banner import cause
from ramphold_tui.view.run_start import UNCONFIRMED, start_answers, start_lines, unkept_title
from ramphold_tui.view.step_words import starts_run, step_words
from ramphold_tui.view.worksheet_parts import WorksheetPart


class PartsScreen(WorkspaceScreen):
    """A place at the parts of the sample."""

    def listed(self) -> tuple[WorksheetPart, ...]:
        """The parts that are shown, one a row."""
        return self.workspace.parts

    def choose(self, row: int) -> None:
        """Choose the part in a row."""
        if parts := self.listed():
            self.workspace.key = parts[max(0, min(row, len(parts) - 1))].key
        self.show_records()

    @work(exclusive=True, group="asking")
    async def action_start_run(self) -> None:
        """Follow the crush of the chosen specimen, once the operator confirmed it."""
        part = self.workspace.part
        if part is None or part.specimen is None:
            self.say("no specimen is chosen: choose one, then start its run", Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is None:
            return
        warning = "it has no next step"
        if part.step is not None:
            fits = starts_run(part.step)
            warning = "" if fits else f"its next step would be: {step_words(part.step)}"
        nothing = act.NoParams()
        if (live := await self.do(run_methods.SNAPSHOT, nothing, "not started")) is None:
            return
        title = f"Follow the crush of {part.specimen.added.label} from now on?"
        facts = "\n".join(start_lines(part.specimen, live, operator))
        if live.unkept:
            warning = f"NOT KEPT if started now: {cause(live.unkept)}"
        dialog = QuestionDialog(title, facts, start_answers(part.specimen), warning)
        if (answer := await self.app.push_screen_wait(dialog)) is None:
            self.say("no run was started")
            return
        anyway = None
        if live.unkept and (anyway := await self.fill_in(reason_form(unkept_title(live)))) is None:
            self.say("no run was started: it could not be kept", Tone.CAUTION)
            return
        style = Style.SQUEEZE if answer == UNCONFIRMED else Style(answer)
        # What does not take a run takes no tick and no zero either.
        unticked = answer == UNCONFIRMED or anyway is not None
        if unticked or await self._confirm_ticks(part.specimen, operator):
            await self._start(part.specimen, operator, style, anyway)

    async def _confirm_ticks(self, one: SpecimenRecord, operator: str) -> bool:
        """Tick what was confirmed; whether all of it was recorded."""
        for tick in Tick:
            if tick in one.ticks:
                continue
            if tick is Tick.ZEROED and not await take_zero(self, operator):
                return False
            ticked = specimen_methods.TickParams(specimen=one.number, what=tick, operator=operator)
            if await self.do(specimen_methods.TICK, ticked, "not started") is None:
                return False
        return True

    async def _start(
        self, one: SpecimenRecord, operator: str, style: Style, anyway: str | None
    ) -> None:
        wanted = run_methods.StartRunParams(
            specimen=one.number, operator=operator, style=style, anyway=anyway
        )
        if started := await self.do(run_methods.START_RUN, wanted, "not started"):
            await self.go_on("press", f"run {started.run} is being followed")

    @work(exclusive=True, group="asking")
    async def action_new(self) -> None:
        """Record a specimen at the chosen stress; receive a sample if there is none."""
        await (self.add_sample() if self.workspace.sheet is None else self.add_specimen())

    async def add_specimen(self) -> None:
        """Ask for a specimen and record it."""
        sheet, number, part = self.workspace.sheet, self.workspace.sample, self.workspace.part
        if sheet is None or number is None:
            return
        if (operator := await self.workspace.operator()) is None:
            return
        stress_psi = part.stress_psi if part else None
        proposed = worksheet_parts.proposed_specimen(sheet.record, stress_psi)
        form = specimen_form(operator, number, sheet.record.sample.laboratory_number)
        if (wanted := await self.fill_in(form.proposing(proposed))) is None:
            self.say("no specimen was recorded")
            return
        if added := await self.do(specimen_methods.ADD_SPECIMEN, wanted, "not recorded"):
            self.workspace.key = worksheet_parts.key_of_specimen(added.specimen)
            self.show_records()
            self.say(f"recorded: {added.label} at {formats.psi(added.target_psi)}")

    @work(exclusive=True, group="asking")
    async def action_correct(self) -> None:
        """Correct an entry of the chosen part, with a reason; the old one stays."""
        sheet, part = self.workspace.sheet, self.workspace.part
        found = corrections(sheet.record, part) if sheet and part else ()
        if part is None or not found:
            self.say("nothing of this part can be corrected yet", Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is None:
            return
        title = f"{worksheet_parts.full_name(part)}: what was wrong?"
        chosen = await self.pick(title, [one.text for one in found])
        if chosen is None:
            self.say("nothing was corrected")
        elif (mass := found[chosen].mass) is not None:
            await self._correct_mass(mass, part, operator)
        elif (tick := found[chosen].tick) is not None:
            await self._take_back(tick, part, operator)

    async def _correct_mass(self, mass: MassTaken, part: WorksheetPart, operator: str) -> None:
        name = worksheet_parts.weighed(part, mass.place)
        title = f"Replace {formats.mass(mass.mass_g)} g as {name}; the old mass stays on record"
        typed = await self.fill_in(
            mass_form(title, "recorded, and printed in the report", needed=True)
        )
        if typed is None or typed.reason is None:
            self.say("nothing was corrected")
            return
        wanted = mass_methods.CorrectMassParams(
            corrects=mass.record, mass_g=typed.mass_g, reason=typed.reason, operator=operator
        )
        if new := await self.do(mass_methods.CORRECT_MASS, wanted, "not corrected"):
            self.say(f"corrected: {name} is {formats.mass(new.mass_g)} g")

    async def _take_back(self, tick: Tick, part: WorksheetPart, operator: str) -> None:
        number = part.specimen.number if part.specimen else 0
        wanted = specimen_methods.TickParams(
            specimen=number, what=tick, done=False, operator=operator
        )
        if await self.do(specimen_methods.TICK, wanted):
            self.say(f"not done after all: {tick}")
