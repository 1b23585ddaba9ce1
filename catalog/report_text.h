// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "proto/capture_report.pb.h"

namespace holdshelf {

/// A capture's report for the person at the turntable: photos used and refused with the reason,
/// precision, what is guesswork, and what to reshoot.
std::string reportText(const CaptureReport& report);

}  // namespace holdshelf
