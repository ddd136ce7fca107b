"""OneRoster 1.1 bulk files: the headers as published, and every way in which files fall short.

Source of the headers, their order and the manifest's properties: 1EdTech OneRoster 1.1, CSV tables
(imsglobal.org, "OneRoster v1.1 Final, CSV Tables"), as read in sample data and schemas in open
source code that agree; written out here a second time and not taken from the code.
"""

import contextlib
import datetime as dt
import io
import random
import zipfile

import pytest

from studio.people import oneroster
from studio.people.oneroster import Package, PackageError
from studio.people.roster import RosterLine

USERS = (
    "sourcedId,status,dateLastModified,enabledUser,orgSourcedIds,role,username,userIds,givenName,"
    "familyName,middleName,identifier,email,sms,phone,agentSourcedIds,grades,password"
)
CLASSES = (
    "sourcedId,status,dateLastModified,title,grades,courseSourcedId,classCode,classType,location,"
    "schoolSourcedId,termSourcedIds,subjects,subjectCodes,periods"
)
ENROLLMENTS = (
    "sourcedId,status,dateLastModified,classSourcedId,schoolSourcedId,userSourcedId,role,primary,"
    "beginDate,endDate"
)
FILES = (
    *("academicSessions", "categories", "classes", "classResources", "courses"),
    *("courseResources", "demographics", "enrollments", "lineItems", "orgs", "resources"),
    *("results", "users"),
)
TODAY = dt.date(2026, 3, 14)


def manifest(version="1.1", **said):
    told = dict.fromkeys(FILES, "absent") | dict.fromkeys(
        ("classes", "users", "enrollments"), "bulk"
    )
    lines = ["propertyName,value", "manifest.version,1.0", f"oneroster.version,{version}"]
    lines += [f"file.{name},{word}" for name, word in (told | said).items()]
    return "\r\n".join([*lines, "source.systemName,Register", "source.systemCode,r1"])


def user(key, given, family, *, role="student", number="", enabled="true", status=""):
    start = f"{key},{status},,{enabled},org,{role},u{key},"
    return f"{start},{given},{family},,{number},a@b.example,,,,11,"


def package(**changed):
    files = {
        "manifest": manifest(),
        "classes": f"{CLASSES}\nc1,,,Bell 4,,k,,scheduled,,org,t,,,\n"
        "c2,,,Bell 5,,k,,scheduled,,org,t,,,",
        "users": "\n".join(
            [
                USERS,
                user("s1", "Amara", "Okafor", number="20418"),
                user("s2", "Bao", "Nguyễn"),
                user("t1", "Thea", "Teach", role="teacher"),
            ]
        ),
        "enrollments": f"{ENROLLMENTS}\ne1,,,c1,org,s1,student,,,\n"
        "e2,,,c1,org,s2,student,,,2999-06-30\n"
        "e3,,,c1,org,t1,teacher,true,,\ne4,,,c2,org,s1,student,,,",
    } | changed
    return {
        f"{name}.csv": text.encode("utf-8-sig") for name, text in files.items() if text is not None
    }


def read(**changed):
    return oneroster.read(package(**changed), today=TODAY)


def zipped(files, folder=""):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parcel:
        for name, data in files.items():
            parcel.writestr(folder + name, data)
    return out.getvalue()


def test_the_headers_are_those_published():
    assert {name: ",".join(head) for name, head in oneroster.HEADERS.items()} == {
        "manifest": "propertyName,value",
        "users": USERS,
        "classes": CLASSES,
        "enrollments": ENROLLMENTS,
    }


def test_classes_come_with_their_students_and_nobody_else():
    read_in = read()
    assert read_in.problems == ()
    assert [(each.sourced_id, each.title, each.lines) for each in read_in.classes] == [
        (
            "c1",
            "Bell 4",
            (RosterLine(2, "Amara Okafor", "20418", "s1"), RosterLine(3, "Bao Nguyễn", "", "s2")),
        ),
        ("c2", "Bell 5", (RosterLine(2, "Amara Okafor", "20418", "s1"),)),
    ]


@pytest.mark.parametrize("folder", ["", "export/"])
def test_a_zip_is_the_same_as_its_files(folder):
    data = {"export.zip": zipped(package(), folder)}
    assert oneroster.read(data, today=TODAY) == read()


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"manifest": None}, "manifest.csv is missing"),
        ({"manifest": manifest("1.2")}, "OneRoster 1.2"),
        ({"manifest": manifest("1.0")}, "The manifest says OneRoster 1.0"),
        ({"manifest": "propertyName,value"}, "of no version"),
        ({"manifest": manifest(users="delta")}, "users.csv delta: only what changed"),
        ({"manifest": manifest(classes="absent")}, "classes.csv absent"),
        ({"manifest": manifest(enrollments="some")}, "it says bulk or absent"),
        ({"users": None}, "users.csv is missing, though the manifest has it"),
        ({"manifest": "a,b"}, "The heading propertyName is missing"),
        ({"classes": CLASSES, "enrollments": ENROLLMENTS}, "classes.csv has no class"),
    ],
)
def test_the_manifest_is_honoured(changed, said):
    with pytest.raises(PackageError, match=said):
        read(**changed)


def only_problem(**changed):
    (problem,) = read(**changed).problems
    return problem[0], problem[1].line, problem[1].sentence


def swapped(head):
    first, second, *rest = head.split(",")
    return ",".join([second, first, *rest])


@pytest.mark.parametrize(
    ("head", "said"),
    [
        (swapped(USERS), "in another order"),
        (USERS.replace("givenName", "firstName"), "The heading givenName is missing"),
        (USERS.replace("givenName", "givenname"), "The heading givenName is missing"),
        (USERS + ",shoeSize", "“shoeSize” is not of the standard"),
        (USERS + ",userMasterIdentifier", "those of OneRoster 1.2"),
    ],
)
def test_headings_are_held_to_the_standard(head, said):
    file, line, sentence = only_problem(users=head)
    assert (file, line) == ("users.csv", 1)
    assert said in sentence


def test_what_the_standard_lets_through_is_let_through():
    singular = (
        package()["classes.csv"].decode("utf-8-sig").replace("termSourcedIds", "termSourcedId")
    )
    assert read(classes=singular) == read()
    users = [
        line + (",x" if at else ",metadata.colour")
        for at, line in enumerate(package()["users.csv"].decode("utf-8-sig").splitlines())
    ]
    assert read(users="\n".join(users)).classes == read().classes


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (
            {"enrollments": f"{ENROLLMENTS}\ne1,,,c9,org,s1,student,,,"},
            ("enrollments.csv", 2, "classSourcedId c9 is not in classes.csv."),
        ),
        (
            {"enrollments": f"{ENROLLMENTS}\ne1,,,c1,org,s9,student,,,"},
            ("enrollments.csv", 2, "userSourcedId s9 is not in users.csv."),
        ),
        (
            {"enrollments": f"{ENROLLMENTS}\ne1,,,c1,org,s1,student,,,next June"},
            ("enrollments.csv", 2, "endDate is “next June”; the standard writes 2026-06-30."),
        ),
        (
            {"enrollments": f"{ENROLLMENTS}\ne1,,,c1"},
            ("enrollments.csv", 2, "The line has 4 cells and the headings are 10."),
        ),
        (
            {"classes": f"{CLASSES}\nc1,,,,,k,,scheduled,,org,t,,,"},
            ("classes.csv", 2, "title is empty, which the standard does not allow."),
        ),
    ],
)
def test_a_line_that_is_wrong_is_named(changed, said):
    assert only_problem(**changed) == said


def test_a_key_that_stands_twice_is_told():
    users = "\n".join([USERS, user("s1", "A", "B"), user("s2", "C", "D"), user("s1", "E", "F")])
    assert ("users.csv", 4, "sourcedId s1 stands in line 2 already.") in [
        (file, each.line, each.sentence) for file, each in read(users=users).problems
    ]


def test_who_is_no_student_now_is_passed_over_with_a_word():
    users = "\n".join(
        [
            USERS,
            user("s1", "Amara", "Okafor"),
            user("s2", "Bao", "Nguyễn", enabled="false"),
            user("s3", "Cy", "Doe", status="tobedeleted"),
        ]
    )
    enrolled = [
        "e1,,,c1,org,s1,student,,,2026-03-13",
        "e2,,,c1,org,s2,student,,,",
        "e3,,,c1,org,s3,student,,,",
        "e4,,,c2,org,s1,student,,,2026-03-14",
    ]
    came = read(users=users, enrollments="\n".join([ENROLLMENTS, *enrolled]))
    assert [len(each.lines) for each in came.classes] == [0, 1]
    assert sorted(came.notes) == [
        "Enrolments passed over because they are marked as to be deleted: 1.",
        "Enrolments passed over because they belong to a user who is not enabled: 1.",
        "Enrolments passed over because they ended before today: 1.",
    ]


def test_traps_and_broken_parcels_are_told():
    large = zipped({"users.csv": bytes(oneroster.MOST_UNPACKED + 1)})
    for data, said in (
        (large, "unpacks to more than 48 MB"),
        (zipped(package())[:200], "damaged or was cut off"),
        (bytes(oneroster.MOST_BYTES + 1), "more than 8 MB"),
    ):
        with pytest.raises(PackageError, match=said):
            oneroster.read({"a.zip": data}, today=TODAY)


def test_a_package_comes_back_from_the_page_as_it_went():
    again = Package.from_text(read().as_text())
    assert [(c.sourced_id, c.title, [ln.sourced_id for ln in c.lines]) for c in again.classes] == [
        ("c1", "Bell 4", ["s1", "s2"]),
        ("c2", "Bell 5", ["s1"]),
    ]
    for text in ("", "[[]]", '[["c", "t", [["", 1]]]]', "7"):
        with pytest.raises(PackageError):
            Package.from_text(text)


@pytest.mark.parametrize("seed", range(8))
def test_a_damaged_parcel_is_a_sentence(seed):
    whole = zipped({"manifest.csv": manifest(), "classes.csv": CLASSES, "users.csv": USERS})
    chance = random.Random(seed)
    for _ in range(40):
        data = bytearray(whole)
        for _flip in range(chance.choice((1, 3, 20))):
            data[chance.randrange(4, len(data))] = chance.randrange(256)
        with contextlib.suppress(oneroster.PackageError):
            oneroster.unpack({"a.zip": bytes(data)})
