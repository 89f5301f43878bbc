#pragma once
/// SUNDIALS 6.4 (Debian 12) and 7 (Debian 13) behind one header.
#include <cvodes/cvodes.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_config.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#if SUNDIALS_VERSION_MAJOR < 7
inline int make_sundials_context(SUNContext* context) { return SUNContext_Create(nullptr, context); }
#else
inline int make_sundials_context(SUNContext* context) { return SUNContext_Create(SUN_COMM_NULL, context); }
#endif
