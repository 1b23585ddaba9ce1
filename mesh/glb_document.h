// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <google/protobuf/struct.pb.h>

#include <cstdint>
#include <string>
#include <string_view>

namespace holdshelf {

/// Numbers in a GLB's binary chunk (glTF 2.0, 3.6.2).
struct GlbAccessor {
  std::string_view bytes;  ///< From the first element on.
  std::int64_t count = 0;  ///< Elements, all of which lie within `bytes`.
  int components = 1;
  /// 5120 int8, 5121 uint8, 5122 int16, 5123 uint16, 5125 uint32, 5126 float.
  int component_type = 0;
  std::size_t stride = 0;   ///< Bytes from one element to the next.
  bool normalised = false;  ///< Whole numbers stand for 0..1 or -1..1.

  double at(std::int64_t element, int component) const;
};

/// A GLB file taken apart: its description, parsed, and its binary chunk.
struct GlbDocument {
  google::protobuf::Struct json;
  std::string_view bin;
  std::string name;  ///< Of the file, for the sentence that a person reads.

  /// @throws BadInput  There is none of this number, or it reaches beyond the binary chunk, is
  ///                   sparse, or is not in the standard.
  GlbAccessor accessor(std::int64_t index) const;
};

/// @param bytes  Of the file; the document refers to them.
/// @throws BadInput  No GLB of version 2, cut off, described in no valid JSON or in more than 8 MB,
///                   or in need of an extension that changes how meshes are stored.
GlbDocument parseGlbDocument(std::string_view bytes, const std::string& name);

/// @throws BadInput  Always: `what` is wrong with the file.
[[noreturn]] void refuseGlb(const std::string& name, const std::string& what);

// Members of the description: those that are missing give the standard's default, nonsense is
// refused.

/// nullptr: absent.
const google::protobuf::Value* jsonMember(const google::protobuf::Struct& object, const char* key);

/// Empty where absent.
const google::protobuf::ListValue& jsonList(const google::protobuf::Struct& object,
                                            const char* key);

/// A whole number from 0; `fallback` (may be -1) where absent.
/// @throws BadInput  Any other number.
std::int64_t jsonIndex(const google::protobuf::Struct& object, const char* key,
                       std::int64_t fallback, const std::string& name);

/// A number that stands for one from 0; `key` says where.
/// @throws BadInput  It is none, or too large to be an index.
std::int64_t wholeNumber(double number, const char* key, const std::string& name);

/// @throws BadInput  The list has no element of this number.
const google::protobuf::Struct& jsonElement(const google::protobuf::ListValue& list,
                                            std::int64_t index, const std::string& name);

}  // namespace holdshelf
