// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <google/protobuf/repeated_ptr_field.h>

#include <optional>
#include <string>
#include <type_traits>

#include "catalog/library_store.h"
#include "mesh/unreadable_file.h"

namespace holdshelf {

/// What is read; nothing where what it is read from is lost or damaged, for work that does the rest
/// without it.
/// @throws UnreadableFile, StoreUnavailable  Whether it is lost cannot be told now.
template <class Read>
std::optional<std::invoke_result_t<Read>> unlessLost(const Read& read) {
  try {
    return read();
  } catch (const UnreadableFile&) {
    throw;
  } catch (const StoreDamaged&) {
    return std::nullopt;
  } catch (const StoreUnavailable&) {
    throw;
  } catch (const BadInput&) {
    return std::nullopt;
  }
}

/// The sentence that names holds which were not compared, as a mesh of theirs is lost; nothing
/// where there are none.
std::string notComparedText(const google::protobuf::RepeatedPtrField<std::string>& holds);

/// The same of holds whose lips a search for one left out, as they are damaged.
std::string lipsLeftOutText(const google::protobuf::RepeatedPtrField<std::string>& holds);

}  // namespace holdshelf
