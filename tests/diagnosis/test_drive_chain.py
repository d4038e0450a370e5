"""What is said of a drive in each state that people meet, and that what nobody knows stays unknown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wizard.bus.drive import Contents, Disk, DriveDocument, DriveFacts, Mount, Volume
from wizard.bus.sign import Sign
from wizard.diagnosis.drive_chain import judge_drive

GB = 10**9
READ = Contents(table="mbr", partitions=1, ends_at=16 * GB)
EXT = Contents(file_system="ext4", claims=15 * GB)
AT_HOME = (Mount(where="/media/pier/FRAMES", file_system="ext4", read_only=False),)
SOUND = Volume(name="sdb1", bytes_=16 * GB - 10**6, read_only=False, contents=EXT, mounts=AT_HOME)


def disk(**changes: object) -> Disk:
    plain = Disk(name="sdb", scsi="6:0:0:0", bytes_=16 * GB, removable=True, read_only=False, state="running",
                 requests=80, failures=1, contents=READ, volumes=(SOUND,))  # fmt: skip
    return plain.model_copy(update=changes)


def drive(*disks: Disk, **changes: object) -> DriveFacts:
    plain = DriveFacts(device="2-3", present=True, configured=True, is_storage=True, drivers=("uas",), hosts=("host6",),
                       disks=disks, mounts_known=True)  # fmt: skip
    return plain.model_copy(update=changes)


def states(found: DriveDocument) -> dict[str, str]:
    return {link.link: link.state for link in found.links}


def first_failing(found: DriveDocument) -> str | None:
    return next((link.link for link in found.links if link.state == "fails"), None)


def part(**changes: object) -> tuple[Volume, ...]:
    return (SOUND.model_copy(update={"mounts": (), **changes}),)


def test_a_sound_drive_has_every_link_and_nothing_to_complain_of() -> None:
    found = judge_drive(drive(disk()), (), signs_known=True)
    assert set(states(found).values()) == {"ok"}
    assert found.observations == {
        "storage_transport": "uas",
        "device_kind": "storage",
        "volume": "fine",
        "medium": ("fine",),
    }


STATES = {
    "left while looked at": (drive(disk(), vanished=True), "enumerated", None),
    "locked out": (drive(authorised=False), "enumerated", None),
    "not in use": (drive(configured=False, is_storage=None, drivers=(), hosts=()), "enumerated", None),
    "no driver": (drive(drivers=(), hosts=()), "driver", None),
    "no drive at all": (drive(is_storage=False, drivers=(), hosts=()), "driver", None),
    "adapter without a disk": (drive(), "block_device", "no_disk"),
    "taken out of use": (drive(disk(state="offline")), "block_device", "offline"),
    "no medium": (drive(disk(bytes_=0, contents=None, volumes=())), "size", "no_disk"),
    "nonsensical size": (drive(disk(bytes_=512, contents=None, volumes=())), "size", "raw_or_wrong_size"),
    "empty": (drive(disk(contents=Contents(blank=True), volumes=())), "partition_table", "no_partition"),
    "noise": (drive(disk(contents=Contents(), volumes=())), "partition_table", "no_partition"),
    "a table with nothing in it": (
        drive(disk(contents=Contents(table="mbr", partitions=0), volumes=())), "partition_table", "no_partition",
    ),
    "a table that is gone": (
        drive(disk(contents=Contents(table="gpt_lost", partitions=0), volumes=())),
        "partition_table", "raw_or_wrong_size",
    ),
    "a table for a larger drive": (
        drive(disk(contents=Contents(table="gpt", partitions=1, ends_at=64 * GB), volumes=part())),
        "partition_table", "raw_or_wrong_size",
    ),
    "a table from another case": (
        drive(disk(contents=Contents(table="gpt", partitions=1, other_sector=4096), volumes=())),
        "partition_table", "raw_or_wrong_size",
    ),
    "unknown file system": (drive(disk(volumes=part(contents=Contents()))), "file_system", "raw_or_wrong_size"),
    "file system of another system": (
        drive(disk(volumes=part(contents=Contents(file_system="apfs")))), "file_system", "foreign_filesystem",
    ),
    "file system cut short": (
        drive(disk(volumes=part(contents=Contents(file_system="ext4", claims=17 * GB)))),
        "file_system", "raw_or_wrong_size",
    ),
    "not mounted": (drive(disk(volumes=part())), "mounted", "no_letter"),
    "locked": (drive(disk(volumes=part(contents=Contents(file_system="luks")))), "mounted", "no_letter"),
    "write-protected": (drive(disk(read_only=True)), "read_only", "fine"),
}  # fmt: skip


@pytest.mark.parametrize("state", STATES)
def test_each_state_breaks_its_own_link(state: str) -> None:
    facts, link, volume = STATES[state]
    found = judge_drive(facts, (), signs_known=True)
    assert first_failing(found) == link
    assert found.observations.get("volume") == volume
    assert found.words


def test_no_two_states_are_told_in_the_same_words() -> None:
    words = [judge_drive(facts, (), True).words for facts, _, _ in STATES.values()]
    assert len(set(words)) == len(words)


def test_a_drive_mounted_for_reading_only_is_not_called_write_protected() -> None:
    mounts = (AT_HOME[0].model_copy(update={"read_only": True}),)
    found = judge_drive(drive(disk(volumes=part(mounts=mounts))), (), True)
    assert first_failing(found) == "read_only"
    assert "medium" not in found.observations


def test_errors_in_the_log_speak_of_the_medium() -> None:
    signs = [Sign(kind="storage_io_error", where="sdb", count=12), Sign(kind="storage_io_error", where="sda", count=9)]
    found = judge_drive(drive(disk()), signs, True)
    link = found.links[-1]
    assert (link.link, link.state, link.signs) == ("io_errors", "fails", ("storage_io_error",))
    assert "(12)" in link.found
    assert found.observations["medium"] == ("bad_blocks",)


def test_signs_of_another_drive_do_not_count() -> None:
    found = judge_drive(drive(disk()), [Sign(kind="storage_io_error", where="sda", count=9)], True)
    assert states(found)["io_errors"] == "ok"


@pytest.mark.parametrize("reason", ["failed", "blocked"])
def test_a_drive_whose_first_bytes_do_not_come_fails(reason: str) -> None:
    unread = Contents.model_validate({"reason": reason})
    found = judge_drive(drive(disk(contents=unread, volumes=())), (), True)
    assert (states(found)["partition_table"], states(found)["io_errors"]) == ("unknown", "fails")
    assert "volume" not in found.observations


def test_what_may_not_be_read_is_unknown_and_never_fine() -> None:
    kept = Contents(reason="permission")
    hidden = drive(disk(contents=kept, volumes=part(contents=kept), failures=None), mounts_known=False)
    found = judge_drive(hidden, (), False)
    assert {k: states(found)[k] for k in ("file_system", "mounted", "io_errors")} == dict.fromkeys(
        ("file_system", "mounted", "io_errors"), "unknown"
    )
    assert "volume" not in found.observations
    assert "medium" not in found.observations


def test_a_drive_nobody_could_look_into_is_not_sent_to_the_file_manager() -> None:
    kept = Contents(reason="permission")
    found = judge_drive(drive(disk(contents=kept, volumes=())), (), False)
    assert first_failing(found) == "mounted"
    assert found.words.endswith("could not be read.")


def test_without_a_log_nobody_says_that_there_were_no_errors() -> None:
    assert states(judge_drive(drive(disk()), (), False))["io_errors"] == "unknown"


def test_a_reader_with_an_empty_slot_beside_a_card_speaks_of_the_card() -> None:
    empty = disk(name="sda", bytes_=0, contents=None, volumes=())
    assert first_failing(judge_drive(drive(empty, disk()), (), True)) is None


RISKY = ("format", "initialise", "repair", "set up", "wipe")


@pytest.mark.parametrize("state", STATES)
def test_whoever_is_told_of_anything_risky_is_told_to_copy_first_in_the_same_breath(state: str) -> None:
    """The files on a drive that is not recognised come before the drive."""
    for link in judge_drive(STATES[state][0], (), True).links:
        if link.follows and any(word in link.follows.lower() for word in RISKY):
            assert "copy them off before anything else" in link.follows or "Decline" in link.follows


names = st.sampled_from(["sdb", "sdc"])
contents = st.none() | st.builds(
    Contents, table=st.sampled_from([None, "mbr", "gpt", "gpt_lost", "sun"]), partitions=st.none() | st.integers(0, 9),
    file_system=st.sampled_from([None, "ext4", "apfs", "luks", "swap", "other"]), blank=st.booleans(),
    ends_at=st.none() | st.integers(0, 10**13), claims=st.none() | st.integers(0, 10**13),
    reason=st.sampled_from([None, "permission", "failed", "blocked", "vanished"]),
)  # fmt: skip
mounts = st.lists(st.builds(Mount, where=st.just("/m"), file_system=st.just("x"), read_only=st.booleans()), max_size=2)
volumes = st.builds(
    Volume, name=names, bytes_=st.none() | st.integers(0, 10**13), contents=contents, mounts=mounts.map(tuple)
)
disks = st.builds(
    Disk, name=names, bytes_=st.none() | st.integers(0, 10**13), read_only=st.none() | st.booleans(),
    state=st.sampled_from([None, "running", "offline"]), failures=st.none() | st.integers(0, 99), contents=contents,
    volumes=st.lists(volumes, max_size=3).map(tuple), mounts=mounts.map(tuple),
)  # fmt: skip


def test_a_device_that_is_not_there_has_no_chain() -> None:
    found = judge_drive(drive(present=False))
    assert (found.opened, found.links, found.observations) == (False, (), {})
    assert found.words


@given(st.builds(
    DriveFacts, device=st.just("2-3"), present=st.just(True), configured=st.none() | st.booleans(),
    authorised=st.booleans(), is_storage=st.none() | st.booleans(),
    drivers=st.sampled_from([(), ("uas",), ("usb-storage",)]), disks=st.lists(disks, max_size=3).map(tuple),
    mounts_known=st.booleans(), vanished=st.booleans(), system=st.sampled_from(["linux", "windows", "macos"]),
    drivers_known=st.booleans(), disks_known=st.booleans(), problem=st.none() | st.sampled_from([0, 28, 43]),
), st.booleans())  # fmt: skip
def test_whatever_was_read_there_are_nine_links_and_a_sentence(facts: DriveFacts, signs_known: bool) -> None:
    found = judge_drive(facts, (), signs_known)
    assert len(found.links) == 9
    assert all(link.found for link in found.links)
    assert found.words
    assert DriveDocument.model_validate_json(found.model_dump_json(by_alias=True)).links == found.links
