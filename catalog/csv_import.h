// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/library.h"
#include "proto/merge.pb.h"

namespace holdshelf {

struct CsvImportOptions {
  std::string file = "the sheet";  ///< Name for messages.
  bool dry_run = false;            ///< Say what would change; change nothing.
  bool force = false;              ///< Also change holds that somebody changed since the export.
};

/// Takes a sheet (library_csv.h) back, in one commit or not at all. Columns may be missing or in
/// another order; what is missing is left as it is, and measured columns are not read. A line
/// without an id, or with a new one, is a new hold. A line that says what the record says changes
/// nothing, so a sheet may be imported twice.
/// @throws BadInput  An unknown column, a count that is no number, an unknown status, an id twice,
///                   a hold that was changed since the export (`revision`); the sentence names file
///                   and line.
ImportReport importCsv(Library& library, const std::string& text, const CsvImportOptions& options);

}  // namespace holdshelf
