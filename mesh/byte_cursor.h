// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <bit>
#include <cstdint>
#include <cstring>
#include <string>
#include <string_view>

#include "mesh/bad_input.h"

namespace holdshelf {

/// Walks the bytes of one file; never past their end. Every read that would is BadInput.
class ByteCursor {
 public:
  /// @param name  Of the file, for the sentence that a person reads.
  ByteCursor(std::string_view bytes, std::string name) : bytes_(bytes), name_(std::move(name)) {}

  std::size_t left() const { return bytes_.size() - at_; }
  std::size_t at() const { return at_; }
  const std::string& name() const { return name_; }

  /// The file's next value as it lies there, from little- or big-endian bytes.
  template <typename T>
  T read(bool big_endian = false) {
    char raw[sizeof(T)];
    std::memcpy(raw, take(sizeof(T)).data(), sizeof(T));
    if (big_endian != (std::endian::native == std::endian::big))
      for (std::size_t i = 0; i < sizeof(T) / 2; ++i) std::swap(raw[i], raw[sizeof(T) - 1 - i]);
    T value;
    std::memcpy(&value, raw, sizeof(T));
    return value;
  }

  std::string_view take(std::size_t count) {
    if (count > left())
      throw BadInput(name_ + " ends in the middle of its data; it was cut off, export it again.");
    const std::string_view taken = bytes_.substr(at_, count);
    at_ += count;
    return taken;
  }

  /// Up to the next line feed, which is eaten but not returned; nor is a carriage return before it.
  std::string_view line() {
    const std::size_t end = std::min(bytes_.find('\n', at_), bytes_.size());
    std::string_view text = bytes_.substr(at_, end - at_);
    at_ = std::min(end + 1, bytes_.size());
    if (!text.empty() && text.back() == '\r') text.remove_suffix(1);
    return text;
  }

  /// The next word between white space; empty at the end.
  std::string_view word() {
    static constexpr std::string_view kSpace = " \t\r\n\f\v";
    const std::size_t start = bytes_.find_first_not_of(kSpace, at_);
    if (start == std::string_view::npos) {
      at_ = bytes_.size();
      return {};
    }
    at_ = std::min(bytes_.find_first_of(kSpace, start), bytes_.size());
    return bytes_.substr(start, at_ - start);
  }

 private:
  std::string_view bytes_;
  std::string name_;
  std::size_t at_ = 0;
};

/// Appends a value's little-endian bytes.
template <typename T>
void appendLittleEndian(std::string& bytes, T value) {
  char raw[sizeof(T)];
  std::memcpy(raw, &value, sizeof(T));
  if constexpr (std::endian::native == std::endian::big)
    for (std::size_t i = 0; i < sizeof(T) / 2; ++i) std::swap(raw[i], raw[sizeof(T) - 1 - i]);
  bytes.append(raw, sizeof(T));
}

}  // namespace holdshelf
