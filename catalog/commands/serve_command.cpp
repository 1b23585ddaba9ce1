// SPDX-License-Identifier: Apache-2.0
#include <memory>

#include "catalog/commands/command.h"
#include "catalog/server.h"

namespace holdshelf {
namespace {

void serve(const ServeOptions& options, Console& console) {
  Server server(options);
  console.say("The library is at http://" +
              (options.host == "0.0.0.0" ? std::string("localhost") : options.host) + ":" +
              std::to_string(server.port()) + "/ until Ctrl-C.\n");
  std::fflush(stdout);
  server.run([] { return !interrupted(); });
}

}  // namespace

void addServeCommand(CLI::App& app, Job& job) {
  const auto options = std::make_shared<ServeOptions>();
  options->web = HOLDSHELF_WEB;
  CLI::App* command =
      app.add_subcommand("serve", "Show the library as a page in the browser, on this machine");
  addLibraryOption(command, options->library);
  command->add_option("--port", options->port, "Port; 0: any free one (8484)")
      ->check(CLI::Range(0, 65535))
      ->type_name("N");
  command
      ->add_option("--host", options->host, "Address to listen on (127.0.0.1: this machine only)")
      ->type_name("ADDRESS");
  command->add_option("--web", options->web, "Folder of the built page")->type_name("DIR");
  command->callback([options, &job] { job = [options](Console& c) { serve(*options, c); }; });
}

}  // namespace holdshelf
