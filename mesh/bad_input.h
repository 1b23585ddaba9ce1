// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <stdexcept>
#include <string>

namespace holdshelf {

/// What a user gave cannot be used. The message is one sentence for a person: what, where, what to
/// do. Thrown by readers and public entries; caught once by the program and once by the server.
class BadInput : public std::runtime_error {
 public:
  explicit BadInput(const std::string& sentence) : std::runtime_error(sentence) {}
};

/// The work was interrupted by its progress callback (see Progress); nothing was stored.
class Interrupted : public std::runtime_error {
 public:
  Interrupted() : std::runtime_error("Interrupted; nothing was stored.") {}
};

}  // namespace holdshelf
