"""What is done to the sample that is worked on, at the worksheet and at the balance."""

from textual import on, work

from ramphold.control import act, mass_methods, run_methods, specimen_methods
from ramphold.sample import MassTaken, Step, Tick
from ramphold_tui.screens.choice_dialog import ChoiceDialog
from ramphold_tui.screens.dialogs import MassDialog
from ramphold_tui.screens.sample_dialogs import SpecimenDialog
from ramphold_tui.screens.sample_screen import SampleScreen
from ramphold_tui.screens.start_dialog import StartDialog
from ramphold_tui.view import formats, worksheet_parts
from ramphold_tui.view.corrections import undoables
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.run_start import start_lines
from ramphold_tui.view.worksheet_parts import WorksheetPart
from ramphold_tui.widgets import Rows

__all__ = ["PartsScreen"]


class PartsScreen(SampleScreen):
    """A place at the parts of the sample that is worked on."""

    def listed(self) -> tuple[WorksheetPart, ...]:
        """The parts that are shown, and among which one is chosen."""
        return self.workspace.lines

    # --- keys ----------------------------------------------------------------------------------

    def action_choose(self, key: str) -> None:
        """Choose the part above or below."""
        self.workspace.step_to(1 if key == "down" else -1, self.listed())
        self.show_lines()

    @on(Rows.Touched)
    def choose_row(self, event: Rows.Touched) -> None:
        """Choose the part that was touched."""
        self.workspace.key = self.listed()[event.row].key
        self.show_lines()

    @work(exclusive=True, group="asking")
    async def action_start_run(self) -> None:
        """Follow the crush of the chosen specimen, once the operator confirmed it."""
        line = self.workspace.line
        if line is None or line.specimen is None:
            self.say("no specimen is chosen: choose one, then start its run", Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is None:
            return
        warning = "its next step would be another"
        if line.step is not None:
            fits = line.step.step is Step.CRUSH
            warning = "" if fits else f"its next step would be: {worksheet_parts.to_do(line.step)}"
        asked = act.NoParams()
        if (live := await self.do(run_methods.SNAPSHOT, asked, "not started")) is None:
            return
        told = tuple(start_lines(line.specimen, live, operator))
        dialog = StartDialog(line.specimen.added.label, told, warning)
        if (style := await self.app.push_screen_wait(dialog)) is None:
            self.say("no run was started")
            return
        wanted = run_methods.StartRunParams(
            specimen=line.specimen.number, operator=operator, style=style
        )
        if started := await self.do(run_methods.START_RUN, wanted, "not started"):
            self.say(f"run {started.run} is being followed: F2 shows the press")

    @work(exclusive=True, group="asking")
    async def action_new(self) -> None:
        """Record a specimen at the chosen stress; receive a sample where there is none."""
        await (self.add_sample() if self.workspace.sheet is None else self.add_specimen())

    async def add_specimen(self) -> None:
        """Ask for a specimen and record it."""
        sheet, number, line = self.workspace.sheet, self.workspace.sample, self.workspace.line
        if sheet is None or number is None:
            return
        if (operator := await self.workspace.operator()) is None:
            return
        filled = worksheet_parts.proposed_specimen(sheet.record, line.stress_psi if line else None)
        dialog = SpecimenDialog(operator, number, sheet.record.sample.laboratory_number, filled)
        if (wanted := await self.app.push_screen_wait(dialog)) is None:
            self.say("no specimen was recorded")
            return
        if added := await self.do(specimen_methods.ADD_SPECIMEN, wanted, "not recorded"):
            self.workspace.key = worksheet_parts.key_of_specimen(added.specimen)
            self.show_lines()
            self.say(f"recorded: {added.label} at {formats.psi(added.target_psi)}")

    @work(exclusive=True, group="asking")
    async def action_correct(self) -> None:
        """Put right what was wrong of the chosen part, with a reason; the old one stays."""
        sheet, line = self.workspace.sheet, self.workspace.line
        found = undoables(sheet.record, line) if sheet and line else ()
        if line is None or not found:
            self.say("nothing of this part can be corrected yet", Tone.CAUTION)
            return
        if (operator := await self.workspace.operator()) is None:
            return
        title = f"{worksheet_parts.whose(line)}: what was wrong?"
        chosen = await self.app.push_screen_wait(ChoiceDialog(title, [one.text for one in found]))
        if chosen is None:
            self.say("nothing was corrected")
        elif (mass := found[chosen].mass) is not None:
            await self._correct_mass(mass, line, operator)
        elif (tick := found[chosen].tick) is not None:
            await self._take_back(tick, line, operator)

    async def _correct_mass(self, mass: MassTaken, line: WorksheetPart, operator: str) -> None:
        name = worksheet_parts.weighed(line, mass.place)
        title = f"Replace {formats.mass(mass.mass_g)} g as {name}; the old one stays beside it"
        dialog = MassDialog(title, "stands in the record and in the report", needed=True)
        typed = await self.app.push_screen_wait(dialog)
        if typed is None or typed.reason is None:
            self.say("nothing was corrected")
            return
        wanted = mass_methods.CorrectMassParams(
            corrects=mass.record, mass_g=typed.mass_g, reason=typed.reason, operator=operator
        )
        if new := await self.do(mass_methods.CORRECT_MASS, wanted, "not corrected"):
            self.say(f"corrected: {name} is {formats.mass(new.mass_g)} g")

    async def _take_back(self, tick: Tick, line: WorksheetPart, operator: str) -> None:
        number = line.specimen.number if line.specimen else 0
        wanted = specimen_methods.TickParams(
            specimen=number, what=tick, done=False, operator=operator
        )
        if await self.do(specimen_methods.TICK, wanted):
            self.say(f"not seen to after all: {tick}")
