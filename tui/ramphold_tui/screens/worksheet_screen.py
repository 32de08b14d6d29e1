"""The worksheet of a sample: its next step in large letters, and the state of each part."""

from textual import work
from textual.app import ComposeResult

from ramphold.control import choice_methods, sample_methods, shaker_methods, specimen_methods
from ramphold.errors import RampholdError
from ramphold.sample import NextStep, SieveUse, Step
from ramphold_tui.screens.parts_screen import PartsScreen
from ramphold_tui.view import keys, worksheet_parts
from ramphold_tui.view.decisions import Decision, decisions
from ramphold_tui.view.elements import Tone
from ramphold_tui.view.forms import (
    SignerTyped,
    plan_form,
    reason_form,
    review_form,
    sign_form,
    value_form,
)
from ramphold_tui.view.step_words import (
    enter_words,
    instrument_option,
    large_step,
    sieve_option,
    starts_run,
    step_words,
)
from ramphold_tui.view.worksheet_parts import WorksheetPart
from ramphold_tui.widgets import BigText, Rows, WordLine


class WorksheetScreen(PartsScreen, here=keys.WORKSHEET):
    """The parts of a sample, and one key that does the next step of the chosen part."""

    def content(self) -> ComposeResult:
        """The sample, the next step, the parts."""
        yield WordLine(id="sample")
        yield BigText(id="todo", classes="told")
        yield WordLine(id="todo-detail")
        yield WordLine(worksheet_parts.HEADER, classes="header")
        yield Rows(id="parts", classes="told")

    #: Key of the chosen part while it has a step.
    _in_work: str | None = None

    def draw_records(self) -> None:
        """Show the sample, its parts, and the next step of the chosen part."""
        # Whoever did its last step, here or elsewhere: Enter leads to what is next.
        if self.workspace.key == self._in_work and self.is_current:
            self.workspace.choose_next()
        chosen = self.workspace.part
        self._in_work = chosen.key if chosen is not None and chosen.step is not None else None
        sheet, part, parts = self.workspace.sheet, self.workspace.part, self.workspace.parts
        rows, title = self.query_one(Rows), self.query_one("#sample", WordLine)
        rows.rows = tuple(worksheet_parts.part_row(one) for one in parts)
        rows.chosen = parts.index(part) if part in parts else None
        word, detail, enter = "NO SAMPLE", "none has come in yet", "F7: receive one"
        if sheet is not None:
            title.left = worksheet_parts.sample_heading(sheet.record)
            title.right = sheet.record.state
        if part is not None:
            word, enter = large_step(part.step), enter_words(part.step)
            to_do = step_words(part.step) if part.step else "nothing is left to do"
            detail = f"{worksheet_parts.full_name(part)}: {to_do}"
        self.query_one("#todo", BigText).text = word
        todo = self.query_one("#todo-detail", WordLine)
        todo.left, todo.right = detail, enter

    # --- keys ----------------------------------------------------------------------------------

    def touched_again(self) -> None:
        """Do the next step of the touched part."""
        self.action_do_next()

    def action_samples(self) -> None:
        """Show all samples."""
        self.app.switch_screen("samples")

    @work(exclusive=True, group="asking")
    async def action_turn(self, key: str) -> None:
        """Show the sample before or after."""
        numbers = [line.sample.sample or 0 for line in self.workspace.samples]
        if self.workspace.sample in numbers:
            place = numbers.index(self.workspace.sample) + (1 if key == "right" else -1)
            await self.open_sample(numbers[max(0, min(place, len(numbers) - 1))])

    @work(exclusive=True, group="asking")
    async def action_do_next(self) -> None:
        """Do the next step of the chosen part."""
        part = self.workspace.part
        if part is None:
            return
        if starts_run(part.step):
            self.action_start_run()
            return
        match part.step.step if part.step is not None else None:
            case Step.WEIGH:
                self.app.switch_screen("balance")
            case Step.AT_PRESS:
                self.app.switch_screen("press")
            case Step.ADD_SPECIMEN:
                await self.add_specimen()
            case Step.PLAN:
                await self._plan()
            case Step.DECIDE | Step.LEAVE_OUT:
                await self._decide(part)
            case Step.REPORT:
                self.say("`ramphold report` writes it; with --issue it is also recorded as issued")
            case _ if part.step is not None:
                await self._confirm(part, part.step)
        self.workspace.choose_next()
        self.show_records()

    @work(exclusive=True, group="asking")
    async def action_plan(self) -> None:
        """Plan specimens at a stress; the one that tells most about the class is proposed."""
        await self._plan()

    @work(exclusive=True, group="asking")
    async def action_decide(self) -> None:
        """Decide whether the chosen specimen or its run counts, with a reason."""
        if (part := self.workspace.part) is None or part.specimen is None:
            self.say("no specimen is chosen: choose one to decide about", Tone.CAUTION)
            return
        await self._decide(part)

    # --- steps ---------------------------------------------------------------------------------

    async def _plan(self) -> None:
        if (sample := self.workspace.sample) is None or (
            by := await self.workspace.operator()
        ) is None:
            return
        try:
            found = await self.workspace.ask(
                sample_methods.NEXT_STRESS, sample_methods.SampleParams(sample=sample)
            )
        except RampholdError as error:
            self.say(f"nothing proposed: {error}", Tone.CAUTION)
            return
        there = worksheet_parts.specimens_at(self.workspace.parts, found.stress_psi)
        title = f"Plan a stress: {found.reason}"
        stress = "" if found.stress_psi is None else f"{found.stress_psi:g}psi"
        form = plan_form(title, stress, there + found.specimens or 3)
        planned = await self.fill_in(form)
        if planned is None:
            self.say("nothing was planned")
            return
        wanted = sample_methods.PlanStressParams(
            sample=sample, stress_psi=planned[0], replicates=planned[1], operator=by
        )
        if kept := await self.do(sample_methods.PLAN_STRESS, wanted, "not planned"):
            self.say(f"planned: {kept.replicates} specimens at {kept.stress_psi:g} psi")

    async def _decide(self, part: WorksheetPart) -> None:
        if (by := await self.workspace.operator()) is None:
            return
        found = decisions(part)
        title = f"Decide about {worksheet_parts.full_name(part)}"
        chosen = await self.pick(title, [one.text for one in found])
        decision = None if chosen is None else found[chosen]
        reason = None
        if decision is not None:
            reason = await self.fill_in(reason_form(f"{decision.text}: why?"))
        if decision is None or reason is None or part.specimen is None:
            self.say("nothing was decided")
            return
        if decision.run is not None:
            await self._decide_run(decision, decision.run, reason, by)
            return
        about = specimen_methods.DecideExclusionParams(
            specimen=part.specimen.number, excluded=decision.yes, reason=reason, operator=by
        )
        if await self.do(specimen_methods.DECIDE_EXCLUSION, about, "not decided"):
            self.say(f"decided: {decision.text}")

    async def _decide_run(self, decision: Decision, run: int, reason: str, by: str) -> None:
        """Decide whether a run counts; signed, where people sign at the bench."""

        def params(typed: SignerTyped) -> specimen_methods.DecideRunParams:
            return specimen_methods.DecideRunParams(
                run=run, counts=decision.yes, reason=reason, operator=typed.initials, pin=typed.pin
            )

        if self.workspace.people_sign:
            form = sign_form(f"Sign: {decision.text}", by)
            done = await self.do_signed(
                specimen_methods.DECIDE_RUN, form, params, "nothing was decided"
            )
        else:
            unsigned = params(SignerTyped(initials=by))
            done = await self.do(specimen_methods.DECIDE_RUN, unsigned, "not decided")
        if done:
            self.say(f"decided{' and signed' if done.signed else ''}: {decision.text}")

    async def _confirm(self, part: WorksheetPart, step: NextStep) -> None:
        """Do a step that needs only a word from the operator."""
        sample = self.workspace.sample or 0
        if step.step is Step.REVIEW:
            await self._review(sample)
        elif (by := await self.workspace.operator()) is None:
            return
        elif step.step is Step.TICK and step.tick is not None:
            ticked = specimen_methods.TickParams(
                specimen=step.specimen or 0, what=step.tick, operator=by
            )
            if await self.do(specimen_methods.TICK, ticked):
                self.say(f"ticked: {step.tick}, {worksheet_parts.full_name(part)}")
        elif step.step is Step.SHAKE:
            shaking = shaker_methods.StartShakingParams(
                sample=None if step.specimen else sample, specimen=step.specimen, operator=by
            )
            if started := await self.do(shaker_methods.START_SHAKING, shaking):
                self.say(f"the shaker runs from now, {started.planned_s / 60:g} min: T shows it")
        elif step.step is Step.ENTER and step.what is not None:
            await self._enter(sample, step.what, by)
        else:
            await self._choose(sample, step, by)

    async def _choose(self, sample: int, step: NextStep, by: str) -> None:
        """Choose a cylinder, sieves or an instrument."""
        if step.step is Step.CHOOSE_CYLINDER:
            await self._choose_cylinder(sample, by)
        elif step.sieve_use is not None:
            await self._choose_sieves(sample, step, by)
        elif step.what is not None:
            await self._choose_instrument(sample, step.what, by)

    async def _choose_cylinder(self, sample: int, by: str) -> None:
        record = self.workspace.sheet.record if self.workspace.sheet else None
        there = record.bench.cylinders if record else ()
        if not there:
            self.say("no cylinder has a volume yet: `ramphold bench cylinder`", Tone.CAUTION)
            return
        options = [f"{one.cylinder}: {one.volume_cm3:.3f} cm3" for one in there]
        chosen = await self.pick("Density cylinder", options)
        if chosen is None:
            return
        wanted = choice_methods.ChooseCylinderParams(
            sample=sample, cylinder=there[chosen].cylinder, operator=by
        )
        if done := await self.do(choice_methods.CHOOSE_CYLINDER, wanted, "not chosen"):
            self.say(f"density is measured with cylinder {done.cylinder}")

    async def _choose_sieves(self, sample: int, step: NextStep, by: str) -> None:
        """The sieves of a step; asks only where two of a number are in use."""
        record = self.workspace.sheet.record if self.workspace.sheet else None
        serials: list[str] = []
        for number in step.sieves:
            there = record.bench.sieves(number) if record else ()
            title = f"Sieve No. {number}: {step.sieve_use}"
            chosen = await self._pick_of([sieve_option(one) for one in there], title)
            if chosen is None:
                break
            wanted = choice_methods.ChooseSieveParams(
                sample=sample,
                use=step.sieve_use or SieveUse.CUT,
                serial=there[chosen].name,
                operator=by,
            )
            if await self.do(choice_methods.CHOOSE_SIEVE, wanted, "not chosen") is None:
                return
            serials.append(there[chosen].name)
        if not serials:
            self.say("no sieve was chosen")
            return
        named = ", ".join(serials)
        self.say(f"sieve {named}, {step.sieve_use}; for this sample from now on")

    async def _choose_instrument(self, sample: int, test: str, by: str) -> None:
        """The instrument of a test; without a question where one is in use."""
        record = self.workspace.sheet.record if self.workspace.sheet else None
        there = record.bench.instruments(test) if record else ()
        options = [instrument_option(one) for one in there]
        chosen = await self._pick_of(options, f"Instrument for {test}")
        if chosen is None:
            self.say("no instrument was chosen")
            return
        wanted = choice_methods.ChooseInstrumentParams(
            sample=sample, test=test, instrument=there[chosen].name, operator=by
        )
        if done := await self.do(choice_methods.CHOOSE_INSTRUMENT, wanted, "not chosen"):
            self.say(f"{done.test} with {done.instrument}; for this sample from now on")

    async def _pick_of(self, options: list[str], title: str) -> int | None:
        """Which of the options; without a question where there is one alone."""
        return 0 if len(options) == 1 else await self.pick(title, options)

    async def _enter(self, sample: int, what: str, by: str) -> None:
        typed = await self.fill_in(value_form(what))
        if typed is None:
            self.say("nothing was entered")
            return
        wanted = sample_methods.EnterValueParams(
            sample=sample,
            what=what,
            value=typed.value,
            values=typed.values,
            counts=typed.counts,
            operator=by,
        )
        if await self.do(sample_methods.ENTER_VALUE, wanted, "not entered"):
            self.say(f"entered: {what}")

    async def _review(self, sample: int) -> None:
        # What is signed is what stood on the screen when the review began.
        seen = self.workspace.sheet.record.chain.newest if self.workspace.sheet else None

        def params(typed: SignerTyped) -> sample_methods.ReviewSampleParams:
            return sample_methods.ReviewSampleParams(
                sample=sample,
                operator=typed.initials,
                remarks=typed.remarks,
                seen=seen,
                pin=typed.pin,
            )

        form = review_form(signing=self.workspace.people_sign)
        done = await self.do_signed(sample_methods.REVIEW_SAMPLE, form, params, "not reviewed")
        if done:
            self.say(f"reviewed by {done.operator}{', signed' if done.signed else ''}")
