"""What a sound or picture device may ask of its bus, said in a sentence with the true number."""

from pathlib import Path

from builders import controller, hub, iso, root, snapshot

from wizard.bus.formats import AudioFormat, InterfaceFormats
from wizard.bus.model import Alternate, Device, Interface
from wizard.bus.tree import BusTree
from wizard.observe import captured
from wizard.observe.seen import Watcher
from wizard.report.stream_words import stream_sentences

MACHINE = Path(__file__).parent.parent / "reference" / "recordings" / "machine-a.sysfs.tgz"

SOUND = AudioFormat(channels=2, bytes_per_sample=3, bits=24, sample_rates=(48_000,))


def sound_device(*formats: InterfaceFormats) -> Device:
    settings = (Alternate(number=0), Alternate(number=1, endpoints=(iso(294, address=0x01),)))
    return Device(
        id="1-1.1",
        parent="1-1",
        speed="full",
        configuration=1,
        interfaces=(Interface(number=1, active_alternate=0, alternates=settings),),
        formats=formats,
    )


def sentences(device: Device) -> tuple[str, ...]:
    return stream_sentences(device, BusTree(snapshot(controller(), root(), hub("1-1"), device)))


def test_a_stereo_stream_says_its_share_of_the_translator_though_nothing_plays() -> None:
    """294 bytes out at full speed take 236.757 of 900 us (USB 2.0 §5.11.3): 26 %."""
    formats = InterfaceFormats(configuration=1, interface=1, alternate=1, audio=(SOUND,))
    assert sentences(sound_device(formats)) == (
        "out: stereo 48 kHz 24 bit, up to 0.288 MB/s, takes 26% of what its translator may reserve",
    )


def test_a_device_that_describes_no_format_says_nothing() -> None:
    assert sentences(sound_device()) == ()


def test_the_camera_of_a_real_machine_says_its_largest_picture_and_its_share_of_the_bus() -> None:
    """A recorded camera of machine-a: its greatest setting reserves 3 × 1020 bytes every 125 us, 61 of 100 us."""
    look = captured.look(MACHINE, Watcher()).snapshot
    camera = next(d for d in look.devices if d.id == "1-1.6")
    (said,) = stream_sentences(camera, BusTree(look))
    assert said.startswith("in: pictures up to ")
    assert said.endswith("takes 61% of what its bus may reserve")
