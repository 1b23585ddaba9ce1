// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdlib>
#include <optional>
#include <string>

namespace holdshelf::test {

/// An environment variable that is set, or with nullopt not there, for the time of a test.
class Environment {
 public:
  Environment(const char* name, const std::optional<std::string>& value) : name_(name) {
    if (const char* was = std::getenv(name)) before_ = was;
    put(value);
  }
  ~Environment() { put(before_); }
  Environment(const Environment&) = delete;
  Environment& operator=(const Environment&) = delete;

 private:
  void put(const std::optional<std::string>& value) const {
    if (value)
      ::setenv(name_, value->c_str(), 1);
    else
      ::unsetenv(name_);
  }

  const char* name_;
  std::optional<std::string> before_;
};

}  // namespace holdshelf::test
