package calibrate

// Names of the tables, which are the names of their files as well. Rows come
// first, then columns; a temperature is the coolant's where nothing else is said.
const (
	VE     = "ve"     // of the manifold's density; rpm, kPa
	Spark  = "spark"  // ° before the firing top; rpm, kPa
	Lambda = "lambda" // target; rpm, kPa

	IntakeCam  = "intake-cam"  // ° earlier than parked; rpm, kPa
	ExhaustCam = "exhaust-cam" // ° later than parked; rpm, kPa

	Dwell        = "dwell"         // ms; V
	DeadTime     = "deadtime"      // ms at the rated pressure; V
	DeadPressure = "dead-pressure" // factor on the dead time; kPa across the injector
	InjectorFlow = "injector-flow" // g/s of one injector held open; kPa across it
	ShortPulse   = "short-pulse"   // ms added to a pulse; ms of the pulse without dead time

	CrankFuel    = "crank-fuel"    // factor while the starter turns; °C
	PrimePulse   = "prime-pulse"   // ms, once for each cylinder before the first turn; °C
	AfterStart   = "after-start"   // factor at the first firing; °C
	AfterStartS  = "after-start-s" // s in which it falls to 1/e; °C
	WarmUp       = "warm-up"       // factor; °C
	FilmShare    = "film-share"    // X, of the injected fuel that wets the port; °C
	FilmTime     = "film-time"     // τ, s in which the film dries to 1/e; °C
	InjectionEnd = "injection-end" // ° before the firing top; rpm

	IdleSpeed = "idle-speed" // rpm; °C
	IdleAir   = "idle-air"   // g/s that the engine needs to turn at that speed; °C
	IdleSpark = "idle-spark" // ° added; rpm above the wanted speed

	ThrottleMap = "throttle"    // % open; % pedal, rpm
	BoostTarget = "boost"       // kPa in the manifold; % pedal, rpm
	LoadCap     = "load-cap"    // kPa in the manifold, at most, until learned; rpm
	SafeFuel    = "safe-fuel"   // factor until learned; rpm, kPa
	SparkAir    = "spark-air"   // ° added; °C of the charge
	SparkHot    = "spark-hot"   // ° added; °C
	Resume      = "resume"      // rpm at which fuel comes back on the over-run; °C
	SpeedLimit  = "speed-limit" // rpm; °C
)
