// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace holdshelf {

/// Bytes named by their content: what has the name abcdef... has that SHA-256. The same bytes are
/// stored once, never changed, and never seen half-written under their name.
class Blobs {
 public:
  virtual ~Blobs() = default;

  /// Stores the bytes and returns their name. Durable when it returns, and the very bytes: a
  /// damaged one of that name is replaced.
  /// @throws BadInput  There is no room or no permission; nothing is under the name then.
  virtual std::string put(std::string_view bytes) = 0;
  /// Bytes of a blob, checked against its name.
  /// @throws BadInput  There is no such blob, or can be none of that name, or it no longer holds
  ///                   what it was named for.
  virtual std::string get(const std::string& name) const = 0;
  /// @throws BadInput  It cannot be told now.
  virtual bool has(const std::string& name) const = 0;
  /// Takes a damaged one away, so that it can be put again.
  /// @throws BadInput  There can be none of that name.
  virtual void discard(const std::string& name) = 0;
  /// Names of all blobs, in order. @throws BadInput  They cannot be read now.
  virtual std::vector<std::string> names() const = 0;
};

/// Has one place keep a blob of another, whole and durably, also where there is one of that name
/// already: that may be damaged, or its putting may have been cut off before it was durable. Where
/// the other has lost it, what is there is kept so.
/// @return  Whether there was none of that name.
/// @throws BadInput  Neither has it whole, or it cannot be put.
bool bringBlob(const std::string& name, const Blobs& from, Blobs& to);

/// Whether a word can be the name of one: 64 hexadecimal digits.
bool isBlobName(const std::string& name);

/// Names stand in events, which may be somebody else's. @throws BadInput  It can be no blob's.
void needBlobName(const std::string& name);

}  // namespace holdshelf
