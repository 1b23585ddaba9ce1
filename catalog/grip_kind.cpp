// SPDX-License-Identifier: Apache-2.0
#include "catalog/grip_kind.h"

namespace holdshelf {

std::string_view wordOf(GripKind kind) {
  switch (kind) {
    case GripKind::Jug:
      return "jug";
    case GripKind::Edge:
      return "edge";
    case GripKind::Crimp:
      return "crimp";
    case GripKind::Pocket:
      return "pocket";
    case GripKind::Sloper:
      return "sloper";
    case GripKind::Pinch:
      return "pinch";
    case GripKind::FootOnly:
      return "foot-only";
    case GripKind::Volume:
      return "volume or feature";
    case GripKind::None:
      break;
  }
  return "nothing";
}

std::string_view nameOf(Technique technique) {
  switch (technique) {
    case Technique::HalfCrimp:
      return "half crimp";
    case Technique::FullCrimp:
      return "full crimp";
    case Technique::OpenHand:
      break;
  }
  return "open hand";
}

}  // namespace holdshelf
