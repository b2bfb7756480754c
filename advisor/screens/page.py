"""The sheet as one self-contained HTML page: to pin over the bench, printed on one or two A4 sheets, readable on a phone."""

from __future__ import annotations

from html import escape

from advisor.fixes.remake import PHASES, Remake
from advisor.fixes.trials import Trial
from advisor.fixes.weighing import Weighed
from advisor.knowledge.load import Knowledge
from advisor.screens.lines import in_ounces, weight_line
from advisor.screens.remaking import PHASE_TITLES, STAGES, VERDICTS, grams_text, verdict_text
from advisor.screens.terminal import safe

_STYLE = """
@page{size:A4;margin:10mm 12mm}
*{box-sizing:border-box}
body{font:15px/1.38 system-ui,"Segoe UI",Roboto,"Liberation Sans",sans-serif;color:#1b1b1b;background:#fff;margin:0 auto;padding:14px;max-width:820px;overflow-wrap:anywhere}
h1{font-size:1.5em;margin:0 0 .1em}h2{font-size:1.08em;margin:1em 0 .3em;padding-bottom:.1em;border-bottom:2px solid #2f5d50;break-after:avoid}
p{margin:.25em 0}.sub{color:#444;margin-bottom:.6em}
.note{border-left:5px solid #2f5d50;background:#f1f6f4;padding:.45em .7em;margin:.5em 0;break-inside:avoid}
.discard{border-color:#a3201d;background:#fbeeed}.unproved{border-color:#9a6a00;background:#fdf6e6}
table{border-collapse:collapse;width:100%}th,td{text-align:left;padding:.2em .4em;border-bottom:1px solid #bbb;vertical-align:top}
th.n,td.n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}td.g{font-weight:700}
tr.phase th{background:#e6eeeb;border-bottom:1px solid #2f5d50}tr{break-inside:avoid}tr.total td{font-weight:700;border-top:2px solid #1b1b1b}
.box{display:inline-block;width:1em;height:1em;border:1.5px solid #1b1b1b;border-radius:2px;vertical-align:-.12em}
.fine{display:block;font-size:.85em;color:#7a4b00}
ol,ul{margin:.2em 0;padding-left:1.5em}ol.steps{list-style:none;padding-left:0}ol.steps li{padding-left:1.7em;text-indent:-1.7em;margin:.22em 0;break-inside:avoid}
ol.steps .box{margin-right:.7em;text-indent:0}.look{display:block;text-indent:0;font-size:.92em;color:#39544b}
h3{font-size:.98em;margin:.55em 0 .1em;break-after:avoid}
.jar{break-inside:avoid;border:1px solid #999;border-radius:4px;padding:.35em .7em;margin:.45em 0}
@media(max-width:480px){body{font-size:16px;padding:10px}th,td{padding:.25em .2em}th.t,td.t{display:none}}
@media print{body{font-size:11px;line-height:1.3;padding:0;max-width:none}h2{margin:.75em 0 .25em}.two{columns:2;column-gap:8mm}a{color:inherit}}
"""


def page(found: Remake, knowledge: Knowledge) -> str:
    """The whole page; every word of the record is escaped."""
    record = found.record
    ounces = record.in_ounces
    size = f"{grams_text(record.batch_size, ounces)} g" + (f" ({in_ounces(record.batch_size)})" if ounces else "") if record.batch_size else "size not given: percent only"
    facts = ", ".join(f for f in (size, record.kind or "", f"wanted: {record.wanted}" if record.wanted else "") if f)
    tone = " discard" if found.fate.verdict == "discard" else ""
    parts = [f"<h1>{_e(record.name)}</h1>", f'<p class="sub">{_e(facts)}</p>',
             f'<p class="note{tone}"><b>The batch in front of you: {_e(VERDICTS[found.fate.verdict])}.</b> {_e(found.fate.because)}</p>']
    parts += [_fix(found, knowledge), _table(found), _steps(found), _trials(found.trials), _checks(found)]
    if found.cautions:
        parts.append('<section><h2>Cautions</h2><ul class="two">' + "".join(f"<li>{_e(c)}</li>" for c in found.cautions) + "</ul></section>")
    if found.remarks:
        parts.append('<section><h2>How the record was read</h2><ul class="two">' + "".join(f"<li>{_e(r.about)}: {_e(r.says)}</li>" for r in found.remarks) + "</ul></section>")
    body = "\n".join(p for p in parts if p)
    return (f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<meta name="viewport" content="width=device-width,initial-scale=1">\n'
            f"<title>{_e(record.name)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n")


def _e(text: str) -> str:
    return escape(safe(text), quote=True)


def _fix(found: Remake, knowledge: Knowledge) -> str:
    out = []
    for fix in found.fixes:
        rows = "".join(f"<li>{_e(weight_line(c, found.record.in_ounces).removeprefix('- '))}</li>" for c in fix.changes)
        feel = f"<p>Feel: {_e(fix.feel)}.</p>" if fix.feel else ""
        tone = "" if found.proved else " unproved"
        out.append(f"<section><h2>The fix: {_e(fix.title)}</h2><ul>{rows}</ul>{feel}<p class=\"note{tone}\">{_e(verdict_text(found, knowledge))}</p></section>")
    return "".join(out)


def _table(found: Remake) -> str:
    if not found.weights:
        return ""
    ounces = found.record.in_ounces
    more = '<th class="n">oz</th>' if ounces else ""
    rows = [f'<tr><th></th><th>Ingredient</th><th class="n">%</th><th class="n">g</th>{more}<th class="n t">give or take</th></tr>']
    for phase in PHASES:
        lines = [w for w in found.weights if w.phase == phase]
        if not lines:
            continue
        sums = f"{sum(w.percent for w in lines):.4g} %"
        rows.append(f'<tr class="phase"><th colspan="{6 if ounces else 5}">{PHASE_TITLES[phase]} ({sums})</th></tr>')
        rows += [_row(w, ounces, found.record.batch_size) for w in lines]
    size = found.record.batch_size
    grams = grams_text(size, ounces) if size else ""
    rows.append(f'<tr class="total"><td></td><td>Total</td><td class="n">{found.total:.2f}</td><td class="n">{grams}</td>{_ounces(size, ounces)}<td class="t"></td></tr>')
    return "<section><h2>Weigh out</h2><table>" + "".join(rows) + "</table></section>"


def _ounces(grams: float | None, shown: bool) -> str:
    return f'<td class="n g">{"" if grams is None else in_ounces(grams).removesuffix(" oz")}</td>' if shown else ""


def _row(w: Weighed, ounces: bool, size: float | None) -> str:
    grams = "" if w.grams is None else grams_text(w.grams, ounces)
    fine = f'<span class="fine">on a scale that reads {w.step:g} g</span>' if w.finer else ""
    give = f"{w.tolerance:.2g} g" if w.matters and w.tolerance is not None else ""
    return (f'<tr><td><span class="box"></span></td><td>{_e(w.name)}{fine}</td><td class="n">{w.percent:g}</td><td class="n g">{grams}</td>{_ounces(size and w.percent * size / 100, ounces)}'
            f'<td class="n t">{give}</td></tr>')


def _steps(found: Remake) -> str:
    if not found.procedure:
        return ""
    out = ["<section><h2>How to make it</h2>"]
    for stage, title in STAGES.items():
        steps = [s for s in found.procedure if s.stage == stage]
        if steps:
            items = "".join(f'<li><span class="box"></span>{_e(s.says)}' + (f'<span class="look">Look for: {_e(s.look)}</span>' if s.look else "") + "</li>" for s in steps)
            out.append(f'<h3>{title}</h3><ol class="steps">{items}</ol>')
    return "".join(out) + "</section>"


def _trials(trials: tuple[Trial, ...]) -> str:
    if not trials:
        return ""
    out = ["<section><h2>The cause is not settled: a small trial first</h2><p>Make these jars on one day, alike but for one thing, and judge them side by side.</p>"]
    for t in trials:
        size = t.record.batch_size or 100.0
        rows = "; ".join(f"{_e(x.name)} {x.amount[0] * size / 100:.4g} g{f' ({in_ounces(x.amount[0] * size / 100)})' if t.record.in_ounces else ''}" for x in t.record.formula.lines if x.amount)
        out.append(f'<div class="jar"><h3>{_e(t.title)} ({size:g} g)</h3><p>{rows}</p><p><i>{_e(t.tells)}</i></p></div>')
    if trials[0].together:
        out.append(f"<p>{_e(trials[0].together)}</p>")
    return "".join(out) + "</section>"


def _checks(found: Remake) -> str:
    if not found.checks:
        return ""
    items = "".join(f"<li><b>{_e(c.title)}.</b> {_e(c.says)} Shows: {_e(c.shows)}" + (f" <small>({_e(c.standard)})</small>" if c.standard else "") + "</li>" for c in found.checks)
    return f'<section><h2>Stability checks</h2><ul class="two">{items}</ul></section>'
