#pragma once
#include "scenarios/report/spread.hpp"

/// Charts of an ensemble: treatments side by side, site by site. A chart is empty (no fields) where the
/// results lack what it shows.
namespace stoverturn {

/// A kept number in plain words.
struct NumberWords {
  std::string chart, title, axis;
  bool turned = false;  ///< shown with the opposite sign
};
NumberWords words_of_number(const Variable& v);
/// Words of its axis: with the substance where that differs between the systems of units, "K2O given back".
std::string axis_words(const Variable& v, const Results& r);
/// How people are shown it under those words.
Shown shown_in_words(const Variable& v, const Results& r);

/// Checkpoints of an ensemble that its charts show: the first planting, and years after harvest; at most
/// four.
std::vector<std::size_t> told_checkpoints(const Results& r);
/// The checkpoint that a single number is told at: a year after harvest, or else the last one.
std::size_t main_checkpoint(const Results& r);

/// A number at checkpoints: a small chart a checkpoint, in it a heading a site, below it a mark a treatment.
Chart checkpoint_chart(const Results& r, const RunSpread& spread, const Variable& v);
/// A number without dates.
Chart number_chart(const Results& r, const RunSpread& spread, const Variable& v);
/// A number along the stages of the next crop: a small chart a site, a line a treatment.
Chart stage_chart(const Results& r, const RunSpread& spread, const Variable& v);
/// A whole course: a small chart a site, a line with its band a treatment.
Chart course_chart(const Results& r, const RunSpread& spread, const Variable& v);
/// Each weather on its own: a small chart a site, a point a treatment; the median of draws. Of a number at
/// the main checkpoint.
Chart weathers_chart(const Results& r, const RunSpread& spread, const Variable& v);
/// Sites where they lie, with the middle run of a number at the main checkpoint; a small map a treatment.
Chart map_chart(const Results& r, const RunSpread& spread, const Variable& v);

}  // namespace stoverturn
