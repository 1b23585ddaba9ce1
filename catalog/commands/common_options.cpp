// SPDX-License-Identifier: Apache-2.0
#include "catalog/commands/command.h"

namespace holdshelf {

CLI::Option* addLibraryOption(CLI::App* command, std::filesystem::path& folder) {
  folder = "library";
  return command
      ->add_option("-l,--library", folder,
                   "Folder of the library ($HOLDSHELF_LIBRARY, else ./library)")
      ->envname("HOLDSHELF_LIBRARY")
      ->type_name("DIR");
}

}  // namespace holdshelf
