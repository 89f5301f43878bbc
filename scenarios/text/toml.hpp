#pragma once
/// toml++ as Debian 12 (3.3, <toml++/toml.h>) and Debian 13 (3.4, <toml++/toml.hpp>) carry it: the one place
/// that knows. Linked as a library where CMake finds it so, else header only.
#if __has_include(<toml++/toml.hpp>)
#include <toml++/toml.hpp>
#else
#include <toml++/toml.h>
#endif
