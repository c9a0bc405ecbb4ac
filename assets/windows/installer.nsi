; The installer for Windows, made by release with Debian's makensis:
;   makensis -DVERSION=0.1.0 -DNUMBER=0.1.0.0 -DFROM=folder with what is installed -DTO=setup.exe -DICON=icon.ico
; It installs for who runs it, without asking for an administrator, adds an entry to
; the Start menu and one to the list of installed programs, and opens no kind of file
; by itself. Removing it takes away what it brought and nothing else: machines,
; preferences and logs stay.
Target amd64-unicode
ManifestDPIAware true
Name "Lagwright"
OutFile "${TO}"
Icon "${ICON}"
UninstallIcon "${ICON}"
SetCompressor /SOLID lzma
RequestExecutionLevel user
InstallDir "$LOCALAPPDATA\Programs\Lagwright"
!define UNINSTALL "Software\Microsoft\Windows\CurrentVersion\Uninstall\org.lagwright.bench"
InstallDirRegKey HKCU "${UNINSTALL}" "InstallLocation"

VIProductVersion "${NUMBER}"
VIAddVersionKey "ProductName" "Lagwright"
VIAddVersionKey "FileDescription" "Installs Lagwright"
VIAddVersionKey "FileVersion" "${VERSION}"
VIAddVersionKey "ProductVersion" "${VERSION}"
VIAddVersionKey "LegalCopyright" "The Lagwright authors, MIT licence"

Page directory
Page instfiles
UninstPage uninstConfirm
UninstPage instfiles

Section
  SetOutPath "$INSTDIR"
  File "${FROM}/lagwright.exe"
  File "${FROM}/README.md"
  File "${FROM}/LICENSE.txt"
  File "${FROM}/THIRD-PARTY.txt"
  WriteUninstaller "$INSTDIR\uninstall.exe"
  CreateShortcut "$SMPROGRAMS\Lagwright.lnk" "$INSTDIR\lagwright.exe"
  WriteRegStr HKCU "${UNINSTALL}" "DisplayName" "Lagwright"
  WriteRegStr HKCU "${UNINSTALL}" "DisplayVersion" "${VERSION}"
  WriteRegStr HKCU "${UNINSTALL}" "Publisher" "The Lagwright authors"
  WriteRegStr HKCU "${UNINSTALL}" "DisplayIcon" "$INSTDIR\lagwright.exe"
  WriteRegStr HKCU "${UNINSTALL}" "InstallLocation" "$INSTDIR"
  WriteRegStr HKCU "${UNINSTALL}" "UninstallString" '"$INSTDIR\uninstall.exe"'
  WriteRegStr HKCU "${UNINSTALL}" "QuietUninstallString" '"$INSTDIR\uninstall.exe" /S'
  WriteRegDWORD HKCU "${UNINSTALL}" "NoModify" 1
  WriteRegDWORD HKCU "${UNINSTALL}" "NoRepair" 1
SectionEnd

Section "Uninstall"
  Delete "$INSTDIR\lagwright.exe"
  Delete "$INSTDIR\README.md"
  Delete "$INSTDIR\LICENSE.txt"
  Delete "$INSTDIR\THIRD-PARTY.txt"
  Delete "$INSTDIR\uninstall.exe"
  RMDir "$INSTDIR" ; only if it is empty
  Delete "$SMPROGRAMS\Lagwright.lnk"
  DeleteRegKey HKCU "${UNINSTALL}"
SectionEnd
