"""What every form looks like: label, hint and problem tied to the field, no foreign class."""

import pytest
from crispy_forms.helper import FormHelper
from crispy_forms.layout import ButtonHolder, Column, Div, Fieldset, Layout, Row, Submit
from django import forms
from django.template import Context, Template

from tests.pages import page_text


class Sample(forms.Form):
    name = forms.CharField(help_text="As the timetable calls it.")
    wet = forms.BooleanField(required=False, help_text="Still soft.")
    kind = forms.ChoiceField(choices=[("a", "A"), ("b", "B")], widget=forms.RadioSelect)
    place = forms.CharField(required=False)
    secret = forms.CharField(widget=forms.HiddenInput, initial="x")


def render(template, **context):
    return page_text(Template("{% load crispy_forms_tags %}" + template).render(Context(context)))


def test_a_field_names_its_hint_and_its_problem():
    page = render("{{ form|crispy }}", form=Sample({}))
    assert '<label for="id_name">Name</label>' in page
    assert 'aria-describedby="id_name_helptext id_name_error"' in page
    assert '<p class="hint" id="id_name_helptext">As the timetable calls it.</p>' in page
    assert '<p class="problem" id="id_name_error">This field is required.</p>' in page
    assert page.count('aria-invalid="true"') == 3  # the text and both radios


def test_the_head_of_the_form_leads_to_each_field_that_needs_a_look():
    page = render("{{ form|crispy }}", form=Sample({}))
    assert '<a href="#id_name">Name</a>' in page
    assert '<a href="#div_id_kind">Kind</a>' in page
    assert 'id="div_id_kind"' in page
    assert "nothing you entered is lost" in page


def test_an_untouched_form_complains_of_nothing():
    page = render("{{ form|crispy }}", form=Sample())
    assert "problem" not in page
    assert 'role="alert"' not in page


def test_radios_stand_in_a_fieldset_and_a_checkbox_in_its_label():
    page = render("{{ form|crispy }}", form=Sample())
    assert "<legend>Kind</legend>" in page
    assert '<label for="id_wet"><input type="checkbox" name="wet"' in page
    assert '<input type="hidden" name="secret" value="x"' in page


def test_only_what_may_be_left_out_is_marked():
    page = render("{{ form|crispy }}", form=Sample())
    assert page.count("(optional)") == 1


def test_words_from_people_are_escaped():
    form = Sample({"name": '"><script>', "kind": "a", "secret": "x"})
    form.is_valid()
    form.add_error("name", "<b>no</b>")
    page = render("{{ form|crispy }}", form=form)
    assert "<script>" not in page
    assert "<b>no</b>" not in page


@pytest.fixture
def laid_out():
    helper = FormHelper()
    helper.layout = Layout(
        Fieldset("About it", Row("name", "place", css_class="wide"), css_id="about"),
        Column("kind"),
        Div("wet", css_class="sheet"),
        ButtonHolder(Submit("save", "Keep", css_class="quiet")),
    )
    helper.add_input(Submit("go", "Go on"))
    return helper


def test_every_piece_of_a_layout_is_drawn_in_our_own_classes(laid_out):
    page = render("{% crispy form helper %}", form=Sample(), helper=laid_out, csrf_token="T")
    assert '<fieldset id="about" class="fieldset"><legend>About it</legend>' in page
    assert 'class="form-row wide"' in page
    assert 'class="form-column"' in page
    assert '<div class="sheet">' in page
    assert 'class="form-end"' in page
    assert page.count('<button type="submit"') == 2
    assert 'name="csrfmiddlewaretoken" value="T"' in page
    for foreign in ("btn", "form-control", "form-group", 'style="', "onclick"):
        assert foreign not in page


def test_a_formset_is_a_table_that_can_grow():
    forms_of = forms.formset_factory(Sample, extra=2, can_delete=True)
    helper = FormHelper()
    helper.template = "clay/table_inline_formset.html"
    helper.form_tag = False
    page = render("{% crispy forms helper %}", forms=forms_of(prefix="rows"), helper=helper)
    assert page.count('<tr><td data-label="Name"') == 3  # two rows and the one to copy
    assert 'data-rows="rows"' in page
    assert 'id="id_rows-__prefix__-name"' in page
    assert 'name="rows-TOTAL_FORMS" value="2"' in page
    assert '<label class="visually-hidden" for="id_rows-1-DELETE">Remove this row</label>' in page


def test_a_row_keeps_what_was_entered_and_says_what_is_wrong_with_it():
    forms_of = forms.formset_factory(Sample, extra=0)
    data = {
        "form-TOTAL_FORMS": "1",
        "form-INITIAL_FORMS": "0",
        "form-0-name": "",
        "form-0-place": "Kept",
    }
    bound = forms_of(data)
    assert not bound.is_valid()
    page = render("{{ forms|crispy }}", forms=bound)
    assert 'value="Kept"' in page
    assert 'id="id_form-0-name_error"' in page
    assert "Some rows need a look" in page


@pytest.mark.django_db
@pytest.mark.parametrize(("page", "most"), [("edit", 1000), ("intent", 1000)])
def test_how_much_a_text_may_hold_is_said_beside_its_field(client, school, page, most):
    client.force_login(school.teacher)
    path = f"/pieces/{school.piece.pk}/{page}/"
    assert f"Up to {most} characters." in client.get(path).content.decode()
    answer = client.post(path, {"code": "K3-01", "intent": "m" * (most + 1)}).content.decode()
    assert f"at most {most} characters" in answer
    assert "m" * (most + 1) in answer
