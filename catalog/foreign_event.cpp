// SPDX-License-Identifier: Apache-2.0
#include "catalog/foreign_event.h"

#include <google/protobuf/descriptor.h>
#include <google/protobuf/message.h>

#include <cmath>
#include <cstdio>
#include <optional>
#include <string_view>

#include "catalog/gym.h"
#include "catalog/hold_record.h"
#include "catalog/shown_text.h"
#include "mesh/bad_input.h"
#include "mesh/hold_size.h"

using google::protobuf::FieldDescriptor;
using google::protobuf::Message;
using google::protobuf::Reflection;

namespace holdshelf {
namespace {

/// Up to where a number may be so, and why not beyond.
struct Limit {
  double most;
  const char* why;
};
constexpr const char* kTooLarge = "no hold is larger than 3 m";
static_assert(kLargestHold_mm == 3000);
// From corner to corner it is 1.7 times as long, and the origin lies anywhere in it.
constexpr double kAcross_mm = 2 * kLargestHold_mm;
constexpr Limit kLength{kAcross_mm, kTooLarge};
constexpr Limit kArea{10 * kAcross_mm * kAcross_mm, kTooLarge};  // Of a surface with folds.
constexpr Limit kVolume{kAcross_mm * kAcross_mm * kAcross_mm, kTooLarge};
constexpr Limit kCircle{1000 * kAcross_mm, kTooLarge};  // Fitted to a lip that is nearly straight.
constexpr Limit kAngle{1080, "an angle is at most three turns"};
constexpr Limit kNumber{1e12, "nothing that is kept is so large"};
constexpr Limit kCount{1e6, "that is no count"};
constexpr Limit kLongCount{1e15, "that is no count"};

struct ListLimit {
  std::string_view name;
  int most;
};
/// What a measurement makes (mesh/measure_shape.h), and as much again where it is not counted
/// beforehand: one grip and section a step of 0.1 degrees; places of a run from 200 sections side
/// by side; bolts and pockets of a volume of 3 m by 3 m every 100 mm. Work on a shape goes with
/// their products.
constexpr ListLimit kLists[] = {{"grips", 3600},     {"sections", 3600}, {"run", 400},
                                {"spans", 400},      {"pinches", 200},   {"pockets", 1000},
                                {"boltSeats", 1000}, {"words", 1000}};
constexpr int kLongestList = 100'000;

/// Something that cannot be so: where in the message, and what is said there.
struct Fault {
  std::string where, what;
};

std::optional<Fault> faultIn(const Message& message, const Limit& inherited, bool of_shape);

std::optional<Fault> faultOf(double value, double least, const Limit& limit) {
  if (value >= least && value <= limit.most) return std::nullopt;
  char text[64];
  std::snprintf(text, sizeof text, "is %.6g, and ", value);
  return Fault{"", std::isfinite(value) ? text + std::string(limit.why) : "is no number"};
}

std::optional<Fault> faultOfKind(const FieldDescriptor& field, int value) {
  if (field.enum_type()->FindValueByNumber(value) != nullptr) return std::nullopt;
  return Fault{"", "is " + std::to_string(value) + ", which this program does not know"};
}

/// By the unit in the field's name; x, y and value have that of the field that they are in.
Limit limitOf(const FieldDescriptor& field, const Limit& inherited, bool of_shape) {
  const std::string_view name = field.name();
  if (name == "sigma") return kNumber;  // Of what is hardly known it may be large.
  if (name.ends_with("_deg")) return kAngle;
  if (!of_shape) return inherited;
  if (name == "lip_radius_mm" || name == "lip_centre_mm") return kCircle;
  if (name.ends_with("_mm")) return kLength;
  if (name.ends_with("_mm2")) return kArea;
  if (name.ends_with("_mm3")) return kVolume;
  return inherited;
}

/// Of one value; @param at  In a list; -1: it is none.
std::optional<Fault> faultAt(const Message& message, const FieldDescriptor& field, int at,
                             const Limit& inherited, bool of_shape) {
  const Reflection& get = *message.GetReflection();
  const Limit limit = limitOf(field, inherited, of_shape);
  const auto value = [&](auto one, auto of_list) {
    return at < 0 ? (get.*one)(message, &field) : (get.*of_list)(message, &field, at);
  };
  switch (field.cpp_type()) {
    case FieldDescriptor::CPPTYPE_DOUBLE:
      return faultOf(value(&Reflection::GetDouble, &Reflection::GetRepeatedDouble), -limit.most,
                     limit);
    case FieldDescriptor::CPPTYPE_FLOAT:
      return faultOf(value(&Reflection::GetFloat, &Reflection::GetRepeatedFloat), -limit.most,
                     limit);
    case FieldDescriptor::CPPTYPE_INT32:
      return faultOf(value(&Reflection::GetInt32, &Reflection::GetRepeatedInt32), 0, kCount);
    case FieldDescriptor::CPPTYPE_UINT32:
      return faultOf(value(&Reflection::GetUInt32, &Reflection::GetRepeatedUInt32), 0, kCount);
    case FieldDescriptor::CPPTYPE_INT64:
      return faultOf(
          static_cast<double>(value(&Reflection::GetInt64, &Reflection::GetRepeatedInt64)), 0,
          kLongCount);
    case FieldDescriptor::CPPTYPE_UINT64:
      return faultOf(
          static_cast<double>(value(&Reflection::GetUInt64, &Reflection::GetRepeatedUInt64)), 0,
          kLongCount);
    case FieldDescriptor::CPPTYPE_ENUM:
      return faultOfKind(field,
                         value(&Reflection::GetEnumValue, &Reflection::GetRepeatedEnumValue));
    case FieldDescriptor::CPPTYPE_MESSAGE:
      if (at >= 0) return faultIn(get.GetRepeatedMessage(message, &field, at), limit, of_shape);
      return get.HasField(message, &field)
                 ? faultIn(get.GetMessage(message, &field), limit, of_shape)
                 : std::nullopt;
    case FieldDescriptor::CPPTYPE_BOOL:
    case FieldDescriptor::CPPTYPE_STRING:
      break;
  }
  return std::nullopt;
}

std::optional<Fault> faultInList(const Message& message, const FieldDescriptor& field,
                                 const Limit& inherited, bool of_shape) {
  const int size = message.GetReflection()->FieldSize(message, &field);
  int most = kLongestList;
  for (const ListLimit& list : kLists)
    if (field.json_name() == list.name) most = list.most;
  if (size > most)
    return Fault{field.json_name(), "has " + std::to_string(size) +
                                        " entries, of which there are at most " +
                                        std::to_string(most)};
  for (int at = 0; at < size; ++at)
    if (auto fault = faultAt(message, field, at, inherited, of_shape)) {
      fault->where = field.json_name() + "[" + std::to_string(at) + "]" +
                     (fault->where.empty() ? "" : ".") + fault->where;
      return fault;
    }
  return std::nullopt;
}

std::optional<Fault> faultIn(const Message& message, const Limit& inherited, bool of_shape) {
  of_shape = of_shape || message.GetDescriptor() == Shape::descriptor();
  for (int i = 0; i < message.GetDescriptor()->field_count(); ++i) {
    const FieldDescriptor& field = *message.GetDescriptor()->field(i);
    if (field.is_repeated()) {
      if (auto fault = faultInList(message, field, inherited, of_shape)) return fault;
    } else if (auto fault = faultAt(message, field, -1, inherited, of_shape)) {
      fault->where = field.json_name() + (fault->where.empty() ? "" : ".") + fault->where;
      return fault;
    }
  }
  return std::nullopt;
}

/// Walls come in by one door here, which says what is wrong with them.
std::string faultOfWalls(const Gym& gym) {
  try {
    validateGym(gym);
    return "";
  } catch (const BadInput& refusal) {
    std::string sentence = shownStart(refusal.what(), 300);
    if (sentence.ends_with('.')) sentence.pop_back();
    return "of its walls this is wrong: " + sentence;
  }
}

}  // namespace

std::string untruthIn(const Event& event) {
  if (const auto fault = faultIn(event, kNumber, false)) return fault->where + " " + fault->what;
  if (event.created().scans_size() > 0)  // Nobody looks for one there.
    return "created.scans has entries, and every scan is an event of its own";
  return event.has_gym() ? faultOfWalls(event.gym()) : "";
}

void checkForeign(const Event& event, const std::string& from) {
  const std::string untruth = untruthIn(event);
  if (untruth.empty()) return;
  throw BadInput("Nothing of " + shownStart(from, 200) + " was taken in: what it says of " +
                 shownStart(subjectOf(event), 60) + " at " + shownStart(event.at(), 40) +
                 " cannot be so (" + untruth +
                 "). Take that event out of its events.json, which holdshelf export --all writes, "
                 "and import that folder.");
}

}  // namespace holdshelf
