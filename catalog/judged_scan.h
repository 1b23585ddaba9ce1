// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <utility>

#include "catalog/grip_model.h"
#include "proto/hold.pb.h"

namespace holdshelf {

/// A hold's last scan with the model that judges it.
struct JudgedScan {
  JudgedScan(Scan scan_, const HandModel& hand)
      : scan(std::move(scan_)), model(scan.shape(), hand) {}
  Scan scan;
  GripModel model;  ///< Refers to `scan`.
};

}  // namespace holdshelf
