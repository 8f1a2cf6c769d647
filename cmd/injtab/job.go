package main

import (
	"slices"

	"injtab/fit"
	"injtab/fit/unit"
	"injtab/tables"
	"injtab/tables/engine"
	"injtab/tables/match"
)

// A job is the whole work on one bench file; the parts that were not asked for are
// nil.
type job struct {
	session  session
	model    *fit.Model
	options  tables.Options
	set      tables.Set
	inputs   *engine.Inputs         // of the engine
	Check    tables.CheckResult     `json:"check"`
	Fit      tables.FitResult       `json:"fit"`
	Match    *match.Result          `json:"match,omitempty"`
	Tables   tables.SetResult       `json:"tables"`
	Verify   *tables.Verification   `json:"verify,omitempty"`
	HeldOut  *tables.Verification   `json:"verify_held_out,omitempty"`
	Size     *engine.SizeResult     `json:"size,omitempty"`
	Headroom *engine.HeadroomResult `json:"headroom,omitempty"`
}

// heldOut is what the whole work leaves out of a second fit to prove the tables.
var heldOut = tables.HoldOut{Every: 5}

// do does the whole work on a session that was read.
func (a *app) do(s session, t *tableChoice, e engineChoice) (job, error) {
	defer a.working("doing the whole job")()
	j := job{session: s, Check: tables.NewCheck(s.checked, s.notes)}
	in, err := a.engine(e) // before the long work, in case it can't be had
	if err != nil {
		return j, err
	}
	if j.Match, err = t.seat(s.checked); err != nil {
		return j, err
	}
	if j.model, err = fit.Injectors(s.checked, t.fit); err != nil {
		return j, err
	}
	j.Fit = tables.NewFit(j.model, s.notes)
	if j.set, err = tables.Build(j.model, t.options); err != nil {
		return j, usageError{err}
	}
	j.options = t.options
	j.Tables = tables.NewSetResult(j.set, s.checked.Sheet().SHA256, s.notes)
	j.verify()
	return j, j.engineSide(in, e)
}

// verify proves the tables where readings allow it: a session without a pulsed
// reading of these injectors has tables all the same.
func (j *job) verify() {
	ecu, err := tables.NewECU(j.set.Tables)
	if err != nil {
		return
	}
	ecu.VolumeFactor = j.set.VolumeFactor
	if v, err := tables.Verify(ecu, j.session.checked, tables.VerifyOptions{}); err == nil {
		j.Verify, j.Tables.Verification = &v, &v
	}
	if v, err := tables.VerifyHeldOut(ecu, j.session.checked, heldOut, tables.VerifyOptions{}); err == nil {
		j.HeldOut = &v
	}
}

// engine reads the engine, if one is given, and tries whether it can be had.
func (a *app) engine(e engineChoice) (in engine.Inputs, err error) {
	if !e.any() {
		return in, nil
	}
	if in, err = a.engineInputs(e); err != nil {
		return in, err
	}
	in = a.measuredInstead(in, e.file)
	if _, err := engine.Size(in); err != nil {
		return in, e.wrong(err)
	}
	return in, nil
}

// engineSide finds what the engine needs, with the dead time that was measured, and
// what the injectors that the tables are for have left in it.
func (j *job) engineSide(in engine.Inputs, e engineChoice) error {
	if !e.any() {
		return nil
	}
	if dead, ok := j.deadTime(); ok {
		in.DeadTime, in.DeadTimeFrom = dead, "measured, at the reference pressure and voltage"
	}
	size, err := engine.Size(in)
	if err != nil {
		return e.wrong(err)
	}
	j.Size, j.inputs = &size, &in
	set, err := benchInjectors(j.model, seated(j.Tables))
	if err != nil {
		return err
	}
	headroom, err := engine.Headroom(in, set, engine.Target{})
	if err != nil {
		return e.wrong(err)
	}
	j.Headroom = &headroom
	return nil
}

// deadTime is that of the mean of the injectors that the tables are for.
func (j *job) deadTime() (dead unit.Time, ok bool) {
	var who fit.Who
	for _, id := range seated(j.Tables) {
		if g, ok := j.model.Find(id); ok {
			who = append(who, g)
		}
	}
	e := j.model.DeadTime(who, j.model.RefP, j.model.RefV)
	return unit.Ms(e.Value), len(who) > 0 && e.Status.HasValue()
}

// seated are the injectors that tables are for.
func seated(r tables.SetResult) (ids []string) {
	for _, x := range r.Injectors {
		ids = append(ids, x.Injector)
	}
	return ids
}

// tell warns of what every part of the work found.
func (a *app) tell(j job) {
	a.warn(j.session.notes...)
	a.warn(j.model.Notes...)
	if j.Match != nil {
		a.warn(j.Match.Notes()...)
	}
	if j.Size != nil {
		a.warn(j.Size.Notes()...)
		a.warn(j.Headroom.Notes()...)
	}
}

// report is all of it on one page.
func (j job) report() tables.Report {
	r := j.Tables.Report()
	r.Title = title(j.session)
	r.Answer = j.answer(j.Check.Summary())
	r.Sections = []tables.Section{tables.Measured(j.model), j.Check.Section()}
	if notes := append(slices.Clone(j.session.notes), j.model.Notes...); len(notes) > 0 {
		r.Sections = append(r.Sections, tables.Section{Name: "findings", Heading: "Findings", Notes: notes})
	}
	if j.Match != nil {
		r.Sections = append(r.Sections, j.Match.Section())
	}
	r.Sections = append(r.Sections, j.Fit.Section())
	r.Sections = append(r.Sections, j.Tables.Sections()...)
	if j.Verify != nil {
		r.Sections = append(r.Sections, j.Verify.SectionBeside(j.HeldOut))
	}
	if j.Size != nil {
		r.Sections = append(r.Sections, j.Size.Section(), j.Headroom.Section())
	}
	r.Sections = append(r.Sections, tables.Method())
	return r
}

// answer is the whole job in a few sentences, with those on the injectors' verdicts.
func (j job) answer(verdicts ...string) []string {
	var out []string
	if j.Match != nil && len(j.Match.Sets) > 0 {
		out = append(out, j.keep())
	}
	out = append(append(out, verdicts...), j.Tables.Essence(j.model)...)
	for _, v := range []*tables.Verification{j.Verify, j.HeldOut} {
		if v != nil {
			out = append(out, v.Sentence())
		}
	}
	if j.Headroom != nil {
		out = append(out, j.Headroom.Report().Answer[0])
	}
	return out
}

// title is what a session calls itself, else its file.
func title(s session) string {
	if t := s.checked.Setup().Title; t != "" {
		return t
	}
	return fileName(s.path)
}
