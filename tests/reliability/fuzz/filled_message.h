// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <google/protobuf/message.h>

#include <string>
#include <vector>

#include "proto/event.pb.h"

namespace holdshelf::test {

/// Gives every field of a message a value, and of the messages in it down to `levels`, so that a
/// fuzzer starts from all the names that a reader may meet; it could never guess them. Lists get
/// one element; of the fields of which one can be set, the `choice`-th is. The values mean nothing
/// together, so a reader may refuse the message in the end. What names a file names filledFile().
void fillMessage(google::protobuf::Message& message, int choice = 0, int levels = 5);

/// The file that filled messages name, which is no mesh and no picture.
std::string filledFile();

/// A filled message of that type as proto3 JSON.
std::string filledJson(const google::protobuf::Descriptor& type, int choice = 0);

/// For each kind of change that an event can bring (event.proto), a library's history of two: a
/// hold is made, then that change comes, filled.
std::vector<std::vector<Event>> historiesOfEveryChange();

}  // namespace holdshelf::test
