// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/freed_memory.h"
#include "catalog/qr_code.h"
#include "catalog/server.h"
#include "catalog/web_files.h"

namespace holdshelf {
namespace {

/// What someone with a phone has to do, with a code to photograph.
void sayHowToPair(Server& server, Console& console) {
  if (server.addresses().empty()) return;
  const PairingCode code = server.makeCode(Role::Head);
  const std::string& address = server.addresses().front();
  console.say("\nOn a phone in the same network: photograph this, or open " + address +
              " and type the code " + code.code() + ".\n");
  console.draw(qrText(qrCode(address + "#/pair/" + code.code())));
  console.say(
      "It pairs one device as head, within ten minutes. More codes: More, Devices on the "
      "page, or holdshelf devices --code ROLE.\nNothing is encrypted: use the gym's own "
      "network, not its guests'.\n");
}

void serve(const ServeOptions& options, Console& console) {
  keepLittleFreedMemory();
  Server server(options);
  const bool everywhere = options.host == "0.0.0.0" || options.host == "::";
  console.say("The library is at http://" + (everywhere ? std::string("localhost") : options.host) +
              ":" + std::to_string(server.port()) + "/ until Ctrl-C.\n");
  sayHowToPair(server, console);
  std::fflush(stdout);
  server.run([] { return !interrupted(); });
}

}  // namespace

void addServeCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<ServeOptions>();
  options->web = pageOfThisProgram();
  CLI::App* command =
      app.add_subcommand("serve", "Show the library as a page in the browser, on this machine");
  addLibraryOption(command, options->library);
  command->add_option("--port", options->port, "Port; 0: any free one (8484)")
      ->check(CLI::Range(0, 65535))
      ->type_name("N");
  command
      ->add_option("--host", options->host, "Address to listen on (127.0.0.1: this machine only)")
      ->type_name("ADDRESS");
  command->add_flag_callback(
      "--open", [options] { options->host = "0.0.0.0"; },
      "Open it to the network: other devices pair with a code first");
  command->add_flag(
      "--pair-here", options->pair_here,
      "Browsers on this machine have to pair, too: needed behind a proxy or tunnel on "
      "this machine, which cannot always be told from you");
  command->add_option("--web", options->web, "Folder of the built page")->type_name("DIR");
  command->callback([options, &job] { job = [options](Console& c) { serve(*options, c); }; });
}

}  // namespace holdshelf
