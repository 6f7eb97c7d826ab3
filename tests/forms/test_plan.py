"""The Plan form and the command `plan` hold what the table of parameters says, row by row."""

from buildlog.core.plan.kinds import SHARE
from buildlog.core.plan.parameter_table import GROUPS, PARAMETERS
from buildlog.forms.plan import PlanForm
from buildlog.management.commands.plan import Command
from buildlog.models import Build


def test_the_form_shows_every_row_of_the_table_once_in_its_group():
    form = PlanForm(Build(code="BARN"), None)
    shown = {field.name: (group, False) for group, fields, _ in form.grouped for field in fields}
    shown |= {field.name: (group, True) for group, _, more in form.grouped for field in more}
    assert shown == {row.name: (row.group, row.more) for row in PARAMETERS}
    assert [group for group, *_ in form.grouped] == list(GROUPS)
    for row in PARAMETERS:
        field = form.fields[row.name]
        assert (field.label, field.help_text) == (row.label, row.form_help)
        assert form[row.name].unit == ("" if row.kind is SHARE else row.unit)
        assert not row.choices or dict(field.choices) == row.choices


def test_the_command_takes_every_row_of_the_table():
    flags = {action.option_strings[-1]: action for action in Command().create_parser("manage.py", "plan")._actions}
    for row in PARAMETERS:
        action = flags[f"--{row.name.replace('_', '-')}"]
        assert action.help == row.help
        assert (action.choices or None) == (("", *row.choices) if row.choices else None)
