#pragma once
/// What a reader says of a wrong input.
#include <string>

#include "scenarios/text/mistakes.hpp"

/// The text for the user; "no mistake" when `read` finds none.
template <class Read>
std::string mistakes_in(Read&& read) {
  try {
    read();
  } catch (const stoverturn::InputError& error) {
    return error.what();
  }
  return "no mistake";
}
