#!/usr/bin/env bash
# image.sh FOLDER: build a MicroPython image for the Pico from Debian's source packages (as root), where micropython.org
# cannot be reached; prints its path, for TUYERE_UF2. Some two minutes.
#
# Debian leaves out what is not free or not its own: so no TLS, no hash but SHA-256, and no frozen drivers. MicroPython,
# pico-sdk and TinyUSB are Debian 13's, which fit each other (1.25.0, 2.1.1, 0.18.0). That is older than the 1.27 which
# `tuyere board load` wants: the tests lay the files out themselves, and need nothing of 1.26 or 1.27.
set -euo pipefail
mkdir -p "$1"
cd "$1"
here=$PWD
{
  apt-get install -y -q --no-install-recommends gcc-arm-none-eabi libnewlib-arm-none-eabi \
    libstdc++-arm-none-eabi-newlib gcc make cmake ninja-build dpkg-dev
  # Its own lists of packages: the machine's stay what they are.
  from=$(apt-get indextargets --format '$(REPO_URI)' | grep -v security | head -1)
  mkdir -p apt/lists/partial apt/cache/archives/partial
  printf 'deb %s trixie main\ndeb-src %s trixie main\n' "$from" "$from" > apt/sources.list
  printf 'Dir::State::lists "%s";\nDir::Cache "%s";\nDir::Etc::sourcelist "%s";\nDir::Etc::sourceparts "/dev/null";\n' \
    "$here/apt/lists" "$here/apt/cache" "$here/apt/sources.list" > apt/conf
  export APT_CONFIG=$here/apt/conf
  apt-get update -q
  apt-get download pico-sdk-source tinyusb-source
  apt-get source -q --download-only micropython
  for package in ./*.deb; do dpkg -x "$package" packages; done
  rm -rf micropython image
  mkdir micropython
  tar xf micropython_*.orig.tar.* -C micropython --strip-components=1

  cd micropython
  rm -rf lib/pico-sdk lib/tinyusb
  cp -r "$(dirname "$(find "$here/packages/usr" -name pico_sdk_init.cmake | head -1)")" lib/pico-sdk
  cp -r "$here/packages/usr/src/tinyusb" lib/tinyusb
  mkdir -p lib/tinyusb/hw/bsp/rp2040 # what pico-sdk looks for; of TinyUSB's own build files Debian has none
  cat > lib/tinyusb/hw/bsp/family_support.cmake << 'CMAKE'
set(tu ${PICO_TINYUSB_PATH}/src)
add_library(tinyusb_common_base INTERFACE)
target_sources(tinyusb_common_base INTERFACE ${tu}/tusb.c ${tu}/common/tusb_fifo.c)
target_include_directories(tinyusb_common_base INTERFACE ${tu} ${tu}/common)
target_link_libraries(tinyusb_common_base INTERFACE hardware_structs hardware_irq hardware_resets pico_sync)
target_compile_definitions(tinyusb_common_base INTERFACE CFG_TUSB_MCU=OPT_MCU_RP2040 CFG_TUSB_OS=OPT_OS_PICO)
add_library(tinyusb_device_base INTERFACE)
file(GLOB classes ${tu}/class/cdc/cdc_device.c ${tu}/class/msc/msc_device.c)
target_sources(tinyusb_device_base INTERFACE ${classes} ${tu}/device/usbd.c ${tu}/device/usbd_control.c
  ${tu}/portable/raspberrypi/rp2040/dcd_rp2040.c ${tu}/portable/raspberrypi/rp2040/rp2040_usb.c)
add_library(tinyusb_bsp INTERFACE)
function(_suppress_tinyusb_warnings)
endfunction()
CMAKE
  echo "Debian carries none of it." > lib/micropython-lib/README.md
  sed -i 's/^set(MICROPY_SSL_MBEDTLS ON)/set(MICROPY_SSL_MBEDTLS OFF)/; /mbedtls_port.c/d; /micropy_lib_mbedtls/d
    /GIT_SUBMODULES lib\/mbedtls/d' ports/rp2/CMakeLists.txt
  sed -i '/MICROPY_PY_HASHLIB_SHA1/d; /MICROPY_PY_CRYPTOLIB/d
    s/^\(#define MICROPY_SSL_MBEDTLS\) .*/\1 (0)/; s/^\(#define MICROPY_PY_SSL\) .*/\1 (0)/' ports/rp2/mpconfigport.h
  printf 'freeze("$(PORT_DIR)/modules")\ninclude("$(MPY_DIR)/extmod/asyncio")\n' > "$here/manifest.py"
  make -C mpy-cross -j2
  cmake -G Ninja -S ports/rp2 -B "$here/image" -DMICROPY_BOARD=RPI_PICO -DMICROPY_FROZEN_MANIFEST="$here/manifest.py" \
    -DPICO_NO_PICOTOOL=1 -DPICO_NO_UF2=1
  ninja -C "$here/image"
  python3 tools/uf2conv.py -b 0x10000000 -f 0xe48bff56 -c -o "$here/micropython.uf2" "$here/image/firmware.bin"
} > "$here/log" 2>&1 || { echo "no image: $(tail -1 "$here/log"); all of it in $here/log" >&2; exit 1; }
echo "$here/micropython.uf2"
