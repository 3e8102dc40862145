Console.Error.WriteLine("shelf: no command yet");
return 2;
