// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/devices.h"
#include "catalog/library.h"

namespace holdshelf {
namespace {

struct DevicesOptions {
  std::filesystem::path library;
  std::string code_for;
  std::vector<std::string> withdraw;
};

std::string deviceText(const Device& device) {
  return device.id() + "  " + device.role() + "  " + device.name() + ", paired " +
         device.paired_at() + ", last seen " + device.last_seen() + ", until " +
         device.expires_at() + "\n";
}

void devicesCommand(const DevicesOptions& options, Console& console) {
  (void)Library::open(options.library);
  Devices devices(options.library);
  if (!options.code_for.empty()) {
    const PairingCode code = devices.makeCode(roleFromWord(options.code_for));
    console.say("The code " + code.code() + " pairs one device as " + code.role() + ", until " +
                code.expires_at() + ".\n");
    return console.result(code);
  }
  for (const std::string& id : options.withdraw) {
    devices.withdraw(id);
    console.say("Withdrawn: " + id + ".\n");
  }
  const DeviceList list = devices.list();
  if (list.devices().empty()) console.say("No device is paired.\n");
  for (const Device& device : list.devices()) console.say(deviceText(device));
  console.result(list);
}

}  // namespace

void addDevicesCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<DevicesOptions>();
  CLI::App* command = app.add_subcommand(
      "devices", "The phones that may use the page: list them, let one in, withdraw one");
  addLibraryOption(command, options->library);
  CLI::Option* withdraw =
      command->add_option("--withdraw", options->withdraw, "Shut these devices out at once")
          ->type_name("ID...");
  command
      ->add_option("--code", options->code_for,
                   "A code that pairs one device as look, set, log or head, within ten minutes")
      ->check(CLI::IsMember({"look", "set", "log", "head"}))
      ->excludes(withdraw)
      ->type_name("ROLE");
  command->callback(
      [options, &job] { job = [options](Console& c) { devicesCommand(*options, c); }; });
}

}  // namespace holdshelf
