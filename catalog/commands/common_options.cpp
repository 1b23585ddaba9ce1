// SPDX-License-Identifier: Apache-2.0
#include "catalog/commands/command.h"

namespace holdshelf {

CLI::Option* addLibraryOption(CLI::App* command, std::filesystem::path& folder) {
  folder = "library";
  return command
      ->add_option("-l,--library", folder,
                   "Folder of the library, or postgres://USER@HOST/DATABASE of a shared one "
                   "($HOLDSHELF_LIBRARY, else ./library)")
      ->envname("HOLDSHELF_LIBRARY")
      ->type_name("PLACE");
}

}  // namespace holdshelf
