// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <google/protobuf/descriptor.h>

#include <map>
#include <string>

#include "proto/event.pb.h"

namespace holdshelf {

/// Which fields of an event name a hold or a climb, said in one place: where two libraries come
/// together each of them has to be renamed, or it names another gym's hold.
enum class NamedId { None, Hold, Climb };
NamedId namedBy(const google::protobuf::FieldDescriptor& field);

/// By the id that it had, the id that it gets. What is not among them keeps its own.
using NewIds = std::map<std::string, std::string>;

/// Gives new ids to all holds and climbs that the event names, however deep.
void renameIds(const NewIds& holds, const NewIds& climbs, Event& event);

}  // namespace holdshelf
