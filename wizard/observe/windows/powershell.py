"""The edge to Windows: one PowerShell process that says in JSON what the system knows of USB. No logic.

NEVER RUN ON A REAL MACHINE: written from Microsoft's documentation, tested with stand-ins.

The script uses built-in commands only, changes nothing, and needs neither administrator nor a changed execution
policy (that one is about script files; this is a command). It holds no double quote, so it passes as one argument.
Each section is one line, the most needed first, so that a slow one costs only what comes after it. To see the same by
hand, type in a PowerShell window:

- system: `Get-CimInstance Win32_ComputerSystem`, `Win32_BaseBoard`, `Win32_BIOS`, `Win32_OperatingSystem`
- devices: `Get-CimInstance Win32_PnPEntity | Where-Object PNPDeviceID -match '^USB'`
- properties: `Get-PnpDevice -PresentOnly | Where-Object InstanceId -match '^USB' | Get-PnpDeviceProperty`
- disks: `Get-Disk`, `Get-Partition`, `Get-Volume`, `Get-CimInstance Win32_DiskDrive`
- plan: `powercfg /query SCHEME_CURRENT 2a737441-1930-4402-8d77-b2bebba308a3`
- switches: `Get-CimInstance -Namespace root/wmi MSPower_DeviceEnable` (an administrator only: else unknown)
- events: `Get-WinEvent -LogName Microsoft-Windows-Kernel-PnP/Configuration -MaxEvents 200`
"""

import os
from collections.abc import Callable
from pathlib import PureWindowsPath

from wizard.observe.asking import Answer, ask

SECONDS = 10.0
"""How long the answer may take: common practice (no source). Starting PowerShell alone can take two seconds."""

SCRIPT = r"""
$ErrorActionPreference='SilentlyContinue'; $ProgressPreference='SilentlyContinue';
try { [Console]::OutputEncoding=[System.Text.Encoding]::UTF8 } catch { };
function Say($name,$items) { ConvertTo-Json -InputObject @{ section=$name; items=@($items) } -Depth 4 -Compress };
Say 'system' @(
  (Get-CimInstance Win32_ComputerSystem | Select-Object Manufacturer,Model),
  (Get-CimInstance Win32_BaseBoard |
    Select-Object @{n='BoardMaker';e={$_.Manufacturer}},@{n='BoardModel';e={$_.Product}}),
  (Get-CimInstance Win32_BIOS | Select-Object SMBIOSBIOSVersion,ReleaseDate),
  (Get-CimInstance Win32_OperatingSystem | Select-Object Caption,Version));
$all=@(Get-CimInstance Win32_PnPEntity | Where-Object {
  $_.PNPDeviceID -match '^(USB|USB4|USBSTOR|HID|UASPSTOR|SCSI)\\' -or
  $_.Service -match '^(USBXHCI|usbehci|usbohci|usbuhci)$' });
Say 'devices' @($all | Select-Object PNPDeviceID,Name,PNPClass,ClassGuid,Status,ConfigManagerErrorCode,Present,Service,
  Manufacturer,HardwareID,CompatibleID);
$keys='DEVPKEY_Device_LocationPaths','DEVPKEY_Device_LocationInfo','DEVPKEY_Device_Address','DEVPKEY_Device_BusNumber',
  'DEVPKEY_Device_Parent','DEVPKEY_Device_ContainerId','DEVPKEY_Device_BusReportedDeviceDesc',
  'DEVPKEY_Device_ProblemStatus','DEVPKEY_Device_DriverVersion','DEVPKEY_Device_DriverDate',
  'DEVPKEY_Device_DriverProvider','DEVPKEY_Device_DriverInfPath';
Say 'properties' @(foreach ($d in $all) { $h=@{ InstanceId=$d.PNPDeviceID };
  foreach ($q in (Invoke-CimMethod -InputObject $d -MethodName GetDeviceProperties -Arguments @{
    devicePropertyKeys=$keys }).deviceProperties) { if ($null -ne $q.Data) { $h[$q.KeyName]=$q.Data } }; $h });
Say 'disks' @(
  (Get-CimInstance -Namespace root/Microsoft/Windows/Storage MSFT_Disk | Select-Object Number,FriendlyName,BusType,
    PartitionStyle,Size,IsOffline,OfflineReason,IsReadOnly,HealthStatus,NumberOfPartitions),
  (Get-CimInstance -Namespace root/Microsoft/Windows/Storage MSFT_Partition | Select-Object DiskNumber,PartitionNumber,
    DriveLetter,Size,Offset,IsReadOnly,IsHidden,GptType,MbrType,AccessPaths),
  (Get-CimInstance -Namespace root/Microsoft/Windows/Storage MSFT_Volume | Select-Object DriveLetter,FileSystem,
    DriveType,HealthStatus,OperationalStatus,Size,Path),
  (Get-CimInstance Win32_DiskDrive |
    Select-Object DeviceID,Index,Model,InterfaceType,PNPDeviceID,Status,Partitions,Size) |
  ForEach-Object { $_ });
Say 'plan' @((powercfg.exe /query SCHEME_CURRENT 2a737441-1930-4402-8d77-b2bebba308a3),
  (powercfg.exe /query SCHEME_CURRENT SUB_PCIEXPRESS) | ForEach-Object { $_ });
Say 'switches' @(Get-CimInstance -Namespace root/wmi MSPower_DeviceEnable | Select-Object InstanceName,Enable);
Say 'events' @(
  (Get-WinEvent -FilterHashtable @{ LogName='Microsoft-Windows-Kernel-PnP/Configuration'; Level=1,2,3;
    StartTime=(Get-Date).AddDays(-7) } -MaxEvents 200),
  $(foreach ($p in 'disk','Ntfs','UASPStor') { Get-WinEvent -FilterHashtable @{ LogName='System'; ProviderName=$p;
    Level=1,2,3; StartTime=(Get-Date).AddDays(-7) } -MaxEvents 100 }) | ForEach-Object { $_ } |
  Select-Object Id,ProviderName,LogName,TimeCreated,@{n='Values';e={
    @($_.Properties | ForEach-Object { [string]$_.Value }) }});
"""


def ask_windows(cancelled: Callable[[], bool] = lambda: False, program: str | None = None) -> Answer:
    """What Windows says, as bytes; never raises. `program` stands in for PowerShell in tests."""
    command = (
        program or _program(),
        "-NoLogo",
        "-NoProfile",
        "-NonInteractive",
        "-Command",
        " ".join(SCRIPT.split("\n")),
    )
    return ask(command, SECONDS, cancelled)


def _program() -> str:
    """The PowerShell that comes with Windows, by its full path: one that lies about elsewhere is not started."""
    root = os.environ.get("SYSTEMROOT", r"C:\Windows")
    return str(PureWindowsPath(root, "System32", "WindowsPowerShell", "v1.0", "powershell.exe"))
