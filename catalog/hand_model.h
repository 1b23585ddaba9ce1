// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <array>
#include <string>

namespace holdshelf {

/// Whose hand stands on the hold.
enum class People {
  Women,
  Men,
  Midway,  ///< Halfway between the women's and the men's value at the same percentile.
};

/// The sizes of one hand, mm, that decide what it can do on a hold.
struct HandModel {
  std::string whose;           ///< For reports: people and percentile.
  double hand_breadth_mm = 0;  ///< Four fingers at the knuckles.
  double hand_length_mm = 0;
  double palm_length_mm = 0;
  double wrist_thickness_mm = 0;  ///< Diameter of a circle with the wrist's circumference.
  double hand_thickness_mm = 0;   ///< At the knuckles.
  std::array<double, 4> finger_breadth_mm{};  ///< Near the tip: index, middle, ring, little.
  double middle_finger_mm = 0;                ///< Length.
  double distal_phalanx_mm = 0;               ///< Length of the last finger bone with its pad.
  double thumb_breadth_mm = 0;
  double grip_diameter_mm = 0;  ///< Thumb and middle finger just meet around it.
  double pinch_span_mm = 0;     ///< Largest width between thumb and fingers that holds.

  double fourFingers_mm() const {
    return finger_breadth_mm[0] + finger_breadth_mm[1] + finger_breadth_mm[2] +
           finger_breadth_mm[3];
  }
};

/// The hand at a percentile, by piecewise linear interpolation in the normal deviate between the
/// tabled percentiles (extrapolated beyond them by the outer piece).
///
/// Hand breadth, length, palm, wrist: ANSUR II (Gordon et al., NATICK/TR-15/007, 2014), recomputed
/// from the public per-person files (testdata/ansur2_hand_percentiles.csv). Thumb, fingers, spans:
/// Pheasant & Haslegrave, Bodyspace, 3rd ed. 2006, and index breadth near the tip DIN 33402-2, both
/// values from memory. Middle, ring and little breadth over index 1.0, 0.95, 0.85 and the distal
/// phalanx as 0.30 of the middle finger are judgement; the latter gives the 20 to 25 mm at which a
/// ledge is said to support it.
///
/// @param percentile  In (0, 100); 50 is the default.
/// @throws BadInput  Percentile outside 1 to 99.
HandModel handModel(People people = People::Midway, double percentile = 50);

/// Share of people whose hand breadth is at most a width, by the normal law with the tabled mean
/// and standard deviation (the data are whole millimetres: the law and a count may differ by 0.04).
double shareOfHandsFitting(People people, double width_mm);

}  // namespace holdshelf
