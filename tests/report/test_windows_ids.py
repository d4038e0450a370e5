"""Serial numbers hide in Windows' names of devices, in every spelling that tools give them."""

import json

import pytest

from wizard.report.private import Secrets

IDS = [
    "USB\\VID_0951&PID_1666\\SER1234567",
    "USBSTOR\\Disk&Ven_X&Prod_Y&Rev_1\\SER1234567&0",
    "SWD\\WPDBUSENUM\\_??_USBSTOR#DISK&VEN_X&PROD_Y#SER1234567&0#{53f56307-b6bf-11d0-94f2-00a0c91efb8b}",
    "\\\\?\\USB#VID_045E&PID_0840#SER1234567#{a5dcbf10-6530-11d2-901f-00c04fb951ed}",
    "FTDIBUS\\VID_0403+PID_6001+SER1234567\\0000",
]


@pytest.mark.parametrize("name", IDS)
def test_the_serial_number_goes_and_the_rest_stays(name):
    spellings = (name, json.dumps({"InstanceId": name}), json.dumps({"InstanceId": name}).replace("&", "\\u0026"))
    for text in spellings:
        assert Secrets(frozenset()).out_of(text) == text.replace("SER1234567", "serial-1")


def test_what_windows_made_of_the_socket_stays():
    name = "USB\\VID_1A86&PID_7523\\7&e77fd46&0&1"
    for text in (name, json.dumps(name), json.dumps(name).replace("&", "\\u0026")):
        assert Secrets(frozenset()).out_of(text) == text
